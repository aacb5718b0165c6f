// How it works: the constructor calls the steps below in their order: resources with their
// calendars, operations with modes and needs (equal rows are shared), one pass over the
// constraints, then what follows from them: work under way, couplings, blocks, circles of
// places, kinds, exits and tails. Everything is a row of a vector and is named by its number.

#include "sched/engine/compiled_problem.hpp"

#include <algorithm>
#include <map>
#include <variant>

namespace sched::engine {

namespace {

Tick tick(core::SimTime t) {
    return t.time_since_epoch().count();
}

std::int32_t count(std::size_t n) {
    return static_cast<std::int32_t>(n);
}

// Sorts rows by their operation, keeping the order within one, and gives each operation its range.
template <class Row, class Out, class Owner, class Set>
void group(std::vector<Row>& rows, std::vector<Out>& out, Owner owner, Set set) {
    std::stable_sort(rows.begin(), rows.end(),
                     [&](const Row& a, const Row& b) { return owner(a) < owner(b); });
    std::size_t i = 0;
    while (i < rows.size()) {
        const std::int32_t who = owner(rows[i]);
        const std::int32_t begin = count(out.size());
        for (; i < rows.size() && owner(rows[i]) == who; ++i)
            out.push_back(rows[i].second);
        set(who, Range{begin, count(out.size())});
    }
}

}  // namespace

CompiledProblem::CompiledProblem(const core::Problem& p, const CompiledProblem* whole)
    : problem(p), horizon_start(tick(p.horizon_start)), horizon_end(tick(p.horizon_end)) {
    add_resources();
    for (std::size_t r = 0; whole != nullptr && r < resources.size(); ++r)
        resources[r].coupled = whole->resources[r].coupled;
    add_operations();
    add_constraints();
    mark_begun();
    for (CompiledOperation& o : operations)
        o.happened = o.begun || (o.fixed && o.not_before < horizon_start);
    mark_coupling();
    make_blocks();
    make_rests();
    make_appointments();
    find_on_demand();
    if (whole == nullptr) make_circles();
    for (const CompiledLag& l : lags) {
        CompiledOperation& from = operations[static_cast<std::size_t>(l.from)];
        const CompiledOperation& to = operations[static_cast<std::size_t>(l.to)];
        if (from.fixed && to.fixed && l.edge != core::Edge::Start)
            from.known_end = std::min(from.known_end, to.not_before - l.min);
    }
    mark_plain();
    make_exits();
    // An assembly takes circles from the whole, numbers its parts with each other, and asks for no
    // tails.
    if (whole == nullptr) {
        make_kinds();
        number_asks();
        make_tails();
    }
    for (const std::int32_t l : lags_in)
        in_rows.push_back(lags[static_cast<std::size_t>(l)]);
    for (const std::int32_t l : lags_out)
        out_rows.push_back(lags[static_cast<std::size_t>(l)]);
}

void CompiledProblem::add_resources() {
    for (const auto& r : problem.resources) {
        CompiledResource c;
        c.capacity = r.capacity;
        c.has_calendar = r.calendar.has_value();
        c.windows.begin = count(windows.size());
        if (r.calendar) {
            for (const auto& w : *r.calendar)
                windows.push_back({tick(w.from), tick(w.to)});
        }
        c.windows.end = count(windows.size());
        c.has_clock = r.shared.has_value();
        c.steps.begin = count(steps.size());
        if (r.shared) {
            for (const auto& s : r.shared->steps)
                steps.push_back({tick(s.from), s.base, s.cap.value_or(-1.0), s.cap_shift,
                                 s.crowd.value_or(-1.0), s.crowd_shift});
        }
        c.steps.end = count(steps.size());
        c.has_batch = r.batch.has_value();
        if (r.batch) c.batch = *r.batch;
        batches |= c.has_batch;
        c.walk = r.walk.count();
        c.spot = r.beside ? r.beside->value : count(resources.size());
        walk = std::max(walk, c.walk);
        resources.push_back(c);
    }
    for (std::size_t r = 0; r < resources.size(); ++r) {
        resources[r].overtime.begin = count(overtime.size());
        for (const auto& o : problem.overtime) {
            if (o.resource.index() == r)
                overtime.push_back({tick(o.window.from), tick(o.window.to)});
        }
        resources[r].overtime.end = count(overtime.size());
        std::sort(overtime.begin() + resources[r].overtime.begin, overtime.end(),
                  [](const CompiledWindow& a, const CompiledWindow& b) { return a.from < b.from; });
    }
    for (const auto& s : problem.stores) {
        stores.push_back({s.initial, s.from ? tick(*s.from) : -never,
                          s.until ? tick(*s.until) : never, s.life ? s.life->count() : never});
    }
    for (const auto& o : problem.orders) {
        order_due.push_back(o.due ? tick(*o.due) : never);
        order_deadline.push_back(o.deadline ? tick(*o.deadline) : never);
        order_release.push_back(tick(o.release));
        order_weight.push_back(o.weight);
    }
}

Range CompiledProblem::add_needs(const core::Mode& m) {
    Range rows{count(needs.size()), 0};
    for (const auto& n : m.needs) {
        CompiledNeed cn;
        cn.amount = n.amount;
        cn.whole = n.span == core::Span::Whole;
        cn.any_of.begin = count(candidates.size());
        for (const auto r : n.any_of)
            candidates.push_back(r.value);
        cn.any_of.end = count(candidates.size());
        needs.push_back(cn);
    }
    rows.end = count(needs.size());
    return rows;
}

void CompiledProblem::add_operations() {
    std::map<std::vector<std::int64_t>, Range> known;
    for (const auto& o : problem.operations) {
        CompiledOperation c;
        c.job = o.job.value;
        if (o.job.valid()) c.order = problem.jobs[o.job.index()].order.value;
        c.not_before = horizon_start;
        if (c.order >= 0) {
            c.not_before = std::max(c.not_before, order_release[static_cast<std::size_t>(c.order)]);
        }
        c.stretch = o.max_stretch ? o.max_stretch->count() : never;
        c.pausable = o.pausable;
        if (o.batch) {
            c.batch_family = o.batch->family;
            c.batch_width = o.batch->width_mm;
            c.batch_height = o.batch->height_mm;
        }
        c.chosen = chosen_size;
        std::size_t most = 0;
        c.modes.begin = count(modes.size());
        for (const auto& m : o.modes) {
            CompiledMode cm;
            cm.work = m.work.count();
            // Modes that ask for the same share their rows: few rows are quick to read.
            std::vector<std::int64_t> key;
            for (const auto& n : m.needs) {
                key.insert(key.end(), {-1, n.amount, n.span == core::Span::Whole});
                for (const auto r : n.any_of)
                    key.push_back(r.value);
            }
            const auto [row, fresh] = known.try_emplace(key);
            if (fresh) row->second = add_needs(m);
            cm.needs = row->second;
            for (std::size_t n = 0; n < m.needs.size(); ++n) {
                cm.candidates += count(m.needs[n].any_of.size());
                for (std::size_t e = 0; e < n; ++e) {
                    for (const auto r : m.needs[n].any_of) {
                        const auto& other = m.needs[e].any_of;
                        cm.overlaps |= std::find(other.begin(), other.end(), r) != other.end();
                    }
                }
            }
            most = std::max(most, m.needs.size());
            cm.stages.begin = count(stages.size());
            for (const auto& s : m.stages)
                stages.push_back({s.work, s.share});
            cm.stages.end = count(stages.size());
            modes.push_back(cm);
        }
        c.modes.end = count(modes.size());
        chosen_size += count(most);
        operations.push_back(c);
    }
}

namespace {

// One pass over Problem::constraints; every alternative has its line.
struct Collector {
    std::vector<CompiledOperation>& operations;
    std::vector<CompiledLag>& lags;
    std::vector<std::int32_t>& take_stores;
    std::vector<std::pair<std::int32_t, std::int32_t>> same_mode;
    std::vector<std::pair<std::int32_t, CompiledSameResource>> same_resource;
    std::vector<std::pair<std::int32_t, CompiledTake>> takes;
    std::vector<std::pair<std::int32_t, CompiledGive>> gives;

    CompiledOperation& op(core::OperationId id) { return operations[id.index()]; }

    void operator()(const core::TimeLag& c) {
        lags.push_back(
            {c.from.value, c.to.value, c.edge, c.min.count(), c.max ? c.max->count() : never});
    }
    void operator()(const core::StartWindow& c) {
        if (c.not_before && c.not_after && *c.not_before == *c.not_after) {
            op(c.operation).fixed = true;
            op(c.operation).not_before = tick(*c.not_before);  // may lie before the horizon
        } else if (c.not_before && !op(c.operation).fixed) {
            op(c.operation).not_before = std::max(op(c.operation).not_before, tick(*c.not_before));
        }
        if (c.not_after)
            op(c.operation).not_after = std::min(op(c.operation).not_after, tick(*c.not_after));
    }
    void operator()(const core::SameMode& c) {
        same_mode.emplace_back(c.a.value, c.b.value);
        same_mode.emplace_back(c.b.value, c.a.value);
    }
    void operator()(const core::SameResource& c) {
        same_resource.push_back({c.a.value, {c.need_a, c.b.value, c.need_b}});
        same_resource.push_back({c.b.value, {c.need_b, c.a.value, c.need_a}});
    }
    void operator()(const core::Take& c) {
        CompiledTake t;
        t.index = count(takes.size());
        t.amount = c.amount;
        t.any_of.begin = count(take_stores.size());
        for (const auto s : c.any_of)
            take_stores.push_back(s.value);
        t.any_of.end = count(take_stores.size());
        takes.emplace_back(c.operation.value, t);
    }
    void operator()(const core::Give& c) {
        gives.push_back({c.operation.value, {c.store.value, c.amount}});
    }
};

}  // namespace

void CompiledProblem::add_constraints() {
    Collector found{operations, lags, take_stores, {}, {}, {}, {}};
    for (const auto& c : problem.constraints)
        std::visit(found, c);
    const auto owner = [](const auto& row) { return row.first; };
    const auto at = [this](std::int32_t i) -> CompiledOperation& {
        return operations[static_cast<std::size_t>(i)];
    };
    take_count = count(found.takes.size());
    group(found.same_mode, same_mode, owner, [&](std::int32_t i, Range r) { at(i).same_mode = r; });
    group(found.same_resource, same_resource, owner,
          [&](std::int32_t i, Range r) { at(i).same_resource = r; });
    group(found.takes, takes, owner, [&](std::int32_t i, Range r) { at(i).takes = r; });
    group(found.gives, gives, owner, [&](std::int32_t i, Range r) { at(i).gives = r; });

    std::vector<std::pair<std::int32_t, std::int32_t>> in, out;
    for (std::size_t l = 0; l < lags.size(); ++l) {
        in.emplace_back(lags[l].to, count(l));
        out.emplace_back(lags[l].from, count(l));
        lags[l].hold = lags[l].edge == core::Edge::End && lags[l].max < never &&
                       at(lags[l].from).stretch >= never;
    }
    group(in, lags_in, owner, [&](std::int32_t i, Range r) { at(i).lags_in = r; });
    group(out, lags_out, owner, [&](std::int32_t i, Range r) { at(i).lags_out = r; });
}

void CompiledProblem::measure_full_loads() {
    for (auto& r : resources)
        r.full_load = 0.0;
    for (const auto& m : modes) {
        if (m.stages.size() == 0) continue;
        const CompiledNeed& n = needs[static_cast<std::size_t>(m.needs.begin)];
        for (const auto& s : stages_of(m)) {
            if (!(s.share > 0.0 && s.work > 0.0)) continue;
            const double each = s.share / static_cast<double>(n.amount);
            for (std::int32_t c = n.any_of.begin; c < n.any_of.end; ++c) {
                auto& r =
                    resources[static_cast<std::size_t>(candidates[static_cast<std::size_t>(c)])];
                r.full_load = std::max(r.full_load, each * static_cast<double>(r.capacity));
            }
        }
    }
}

void CompiledProblem::mark_coupling() {
    // A clock couples its users as soon as one of them weighs something.
    measure_full_loads();
    for (auto& r : resources)
        r.coupled |= r.full_load > 0.0;
    const auto clocks = [&](const CompiledMode& m, auto&& visit) {
        const CompiledNeed& n = needs[static_cast<std::size_t>(m.needs.begin)];
        for (std::int32_t c = n.any_of.begin; c < n.any_of.end; ++c)
            visit(resources[static_cast<std::size_t>(candidates[static_cast<std::size_t>(c)])]);
    };
    for (auto& o : operations) {
        for (std::int32_t i = o.modes.begin; i < o.modes.end; ++i) {
            CompiledMode& m = modes[static_cast<std::size_t>(i)];
            if (m.stages.size() == 0) continue;
            clocks(m, [&](const CompiledResource& r) { m.coupled |= r.coupled; });
            o.coupled |= m.coupled;
            coupled |= m.coupled;
        }
    }
}

std::vector<std::int64_t> asked_for(const CompiledMode& mode, std::span<const CompiledNeed> needs,
                                    std::span<const std::int32_t> candidates) {
    std::vector<std::int64_t> key;
    for (std::int32_t n = mode.needs.begin; n < mode.needs.end; ++n) {
        const CompiledNeed& need = needs[static_cast<std::size_t>(n)];
        key.insert(key.end(), {-2, need.amount, need.whole});
        for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c)
            key.push_back(candidates[static_cast<std::size_t>(c)]);
    }
    return key;
}

void CompiledProblem::make_kinds() {
    std::map<std::vector<std::int64_t>, std::int32_t> known;
    const auto number = [&](const std::vector<std::int64_t>& key) {
        return known.try_emplace(key, count(known.size())).first->second;
    };
    for (auto& o : operations) {
        bool plain = !o.fixed && o.batch_family < 0;
        for (std::int32_t s = o.same_resource.begin; s < o.same_resource.end; ++s) {
            const auto other = same_resource[static_cast<std::size_t>(s)].other;
            plain &= operations[static_cast<std::size_t>(other)].block == o.block;
        }
        std::vector<std::int64_t> all{-1};
        for (std::int32_t i = o.modes.begin; i < o.modes.end; ++i) {
            CompiledMode& m = modes[static_cast<std::size_t>(i)];
            std::vector<std::int64_t> key{m.work, o.pausable, o.open, m.coupled};
            for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
                const CompiledNeed& need = needs[static_cast<std::size_t>(n)];
                key.insert(key.end(), {-2, need.amount, need.whole});
                for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c)
                    key.push_back(candidates[static_cast<std::size_t>(c)]);
            }
            for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
                const CompiledTake& take = takes[static_cast<std::size_t>(t)];
                key.insert(key.end(), {-3, take.amount});
                for (std::int32_t s = take.any_of.begin; s < take.any_of.end; ++s)
                    key.push_back(take_stores[static_cast<std::size_t>(s)]);
            }
            if (m.stages.size() > 0) plain = false;
            m.kind = plain ? number(key) : -1;
            all.push_back(m.kind);
        }
        if (plain)
            o.kind = o.modes.size() == 1 ? all[1] >= 0 ? static_cast<std::int32_t>(all[1]) : -1
                                         : number(all);
    }
    kinds = count(known.size());
}

void CompiledProblem::number_asks() {
    std::map<std::vector<std::int64_t>, std::int32_t> asks;
    for (CompiledMode& m : modes)
        m.ask = asks.try_emplace(asked_for(m, needs, candidates), count(asks.size())).first->second;
}

void CompiledProblem::mark_plain() {
    for (CompiledOperation& o : operations) {
        if (o.modes.size() != 1) continue;
        const CompiledMode& m = modes[static_cast<std::size_t>(o.modes.begin)];
        o.plain = !o.happened && !o.pausable && o.batch_family < 0 && o.takes.size() == 0 &&
                  m.stages.size() == 0 && !m.overlaps && m.work > 0;
    }
    for (Block& b : blocks) {
        for (const std::int32_t op : ops_of(b))
            b.opens |= operations[static_cast<std::size_t>(op)].open;
    }
}

}  // namespace sched::engine
