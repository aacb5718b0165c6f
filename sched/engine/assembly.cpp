// How it works: the book compiles each part (the way of one screen, say) by itself and keeps
// its flat rows, counted from 0. begin() takes all rows out of the assembled problem, add()
// copies the rows of a part to their end with all numbers moved, link() ties two operations of
// different parts, and finish() makes what depends on all of them: the places that screens hold
// on their way to leave.

#include "sched/engine/assembly.hpp"

#include "sched/core/index.hpp"

#include <algorithm>
#include <cmath>
#include <type_traits>
#include <variant>

namespace sched::engine {

namespace {

std::int32_t rows(const auto& table) {
    return static_cast<std::int32_t>(table.size());
}

Range moved(Range r, std::int32_t by) {
    return {r.begin + by, r.end + by};
}

template <class T>
void append(std::vector<T>& to, const std::vector<T>& from) {
    to.insert(to.end(), from.begin(), from.end());
}

/// The constraint with its operations counted from `first`.
core::Constraint counted_from(core::Constraint constraint, int first) {
    const auto shift = [&](core::OperationId& id) { id = core::OperationId{id.value - first}; };
    std::visit(
        [&](auto& c) {
            using T = std::decay_t<decltype(c)>;
            if constexpr (std::is_same_v<T, core::TimeLag>) {
                shift(c.from);
                shift(c.to);
            } else if constexpr (std::is_same_v<T, core::SameMode> ||
                                 std::is_same_v<T, core::SameResource>) {
                shift(c.a);
                shift(c.b);
            } else {
                static_assert(std::is_same_v<T, core::StartWindow> ||
                              std::is_same_v<T, core::Take> || std::is_same_v<T, core::Give>);
                shift(c.operation);
            }
        },
        constraint);
    return constraint;
}

}  // namespace

Tick scaled_work(Tick planned, double factor) {
    if (planned <= 0 || factor == 1.0) return planned;
    return std::max<Tick>(1, std::llround(factor * static_cast<double>(planned)));
}

PartBook::PartBook(const core::Problem& whole) : whole_(whole) {}

int PartBook::add(int first, int count, std::span<const int> constraints) {
    const core::Problem& all = whole_.problem;
    core::Problem own;
    own.horizon_start = all.horizon_start;
    own.horizon_end = all.horizon_end;
    own.resources = all.resources;
    own.stores = all.stores;
    own.ties = all.ties;
    for (int i = first; i < first + count; ++i) {
        own.operations.push_back(all.operations[ix(i)]);
        own.operations.back().job = core::JobId::none();
    }
    for (const int c : constraints) {
        own.constraints.push_back(counted_from(all.constraints[ix(c)], first));
    }
    CompiledProblem c(own, &whole_);
    for (auto& mode : c.modes)
        mode.ask =
            ask_number_.try_emplace(asked_for(mode, c.needs, c.candidates), rows(ask_number_))
                .first->second;
    for (auto& need : c.needs)
        need.any_of = moved(need.any_of, rows(candidates_));
    for (auto& take : c.takes)
        take.any_of = moved(take.any_of, rows(take_stores_));
    for (auto& mode : c.modes) {
        mode.needs = moved(mode.needs, rows(needs_));
        mode.kind = -1;  // lengths differ from one to the next
    }
    for (auto& o : c.operations)
        o.kind = -1;
    // Places that operations hold on their way to leave, each kind once in the book.
    std::vector<std::int32_t> exit_number;
    for (Exit exit : c.exits) {
        std::vector<std::int64_t> key;
        for (auto& way : exit.ways) {
            key.push_back(-2);
            for (CompiledNeed& need : way) {
                key.insert(key.end(), {-1, need.amount});
                for (std::int32_t k = need.any_of.begin; k < need.any_of.end; ++k)
                    key.push_back(c.candidates[ix(k)]);
                need.any_of = moved(need.any_of, rows(candidates_));
            }
        }
        const auto [known, fresh] = exit_number_.try_emplace(key, rows(exits_));
        if (fresh) exits_.push_back(std::move(exit));
        exit_number.push_back(known->second);
    }
    for (std::int32_t& e : c.exit_of)
        e = e < 0 ? e : exit_number[ix(e)];
    append(needs_, c.needs);
    append(candidates_, c.candidates);
    append(take_stores_, c.take_stores);
    parts_.push_back({std::move(c.operations), std::move(c.modes), std::move(c.stages),
                      std::move(c.lags), std::move(c.lags_in), std::move(c.lags_out),
                      std::move(c.same_mode), std::move(c.same_resource), std::move(c.takes),
                      std::move(c.gives), std::move(c.blocks), std::move(c.block_operations),
                      std::move(c.exit_of), c.chosen_size, c.take_count});
    return rows(parts_) - 1;
}

Assembly::Assembly(const PartBook& book) : book_(book), out_(book.whole_) {}

void Assembly::begin() {
    const CompiledProblem& w = book_.whole_;
    if (windows_ == 0) {  // the first time: the needs of the parts take the place of the whole's
        out_.needs = book_.needs_;
        out_.candidates = book_.candidates_;
        out_.take_stores = book_.take_stores_;
        out_.exits = book_.exits_;
        out_.kinds = rows(book_.ask_number_);
        out_.varies = true;
        windows_ = w.windows.size() + 1;
    }
    out_.needs.resize(book_.needs_.size());
    out_.candidates.resize(book_.candidates_.size());
    out_.horizon_start = w.horizon_start;
    out_.horizon_end = w.horizon_end;
    for (std::size_t r = 0; r < w.resources.size(); ++r) {
        out_.resources[r].has_calendar = w.resources[r].has_calendar;
        out_.resources[r].windows = w.resources[r].windows;
    }
    out_.windows.resize(windows_ - 1);
    out_.operations.clear();
    out_.modes.clear();
    out_.stages.clear();
    out_.lags.clear();
    out_.lags_in.clear();
    out_.lags_out.clear();
    out_.in_rows.clear();
    out_.out_rows.clear();
    out_.exit_of.clear();
    out_.appointments.clear();  // blocks of a day are numbered otherwise
    out_.appointments_of.clear();
    out_.same_mode.clear();
    out_.same_resource.clear();
    out_.takes.clear();
    out_.gives.clear();
    out_.stores = w.stores;
    // In simulated days what is mixed keeps: a day does not end because a pot does.
    for (CompiledStore& s : out_.stores)
        s.life = never;
    out_.on_demand.clear();
    out_.order_due = w.order_due;
    out_.order_deadline = w.order_deadline;
    out_.order_release = w.order_release;
    out_.order_weight = w.order_weight;
    // No run of an assembly is given up for what it will be worth at least: nothing is said of
    // that.
    out_.order_steps.clear();
    out_.order_range.assign(w.order_due.size(), {});
    out_.tail.clear();
    out_.blocks.clear();
    out_.block_operations.clear();
    out_.chosen_size = out_.take_count = 0;
}

std::int32_t Assembly::add_order(Tick release, Tick due, std::int64_t weight) {
    out_.order_due.push_back(due);
    out_.order_deadline.push_back(never);
    out_.order_release.push_back(release);
    out_.order_weight.push_back(weight);
    out_.order_range.push_back({});
    return rows(out_.order_due) - 1;
}

std::int32_t Assembly::add(int number, const Place& place, std::span<const double> factor) {
    const PartBook::Part& part = book_.parts_[ix(number)];
    const std::int32_t op0 = rows(out_.operations), mode0 = rows(out_.modes);
    const std::int32_t stage0 = rows(out_.stages), lag0 = rows(out_.lags);
    const std::int32_t block0 = rows(out_.blocks), ops0 = rows(out_.block_operations);
    const std::int32_t same_mode0 = rows(out_.same_mode), same_resource0 = rows(out_.same_resource);
    const std::int32_t take0 = rows(out_.takes), give0 = rows(out_.gives);

    for (const CompiledLag& l : part.lags) {
        out_.lags.push_back(l);
        out_.lags.back().from += op0;
        out_.lags.back().to += op0;
    }
    const std::int32_t in0 = rows(out_.lags_in), out0 = rows(out_.lags_out);
    for (const std::int32_t l : part.lags_in) {
        out_.lags_in.push_back(l + lag0);
        out_.in_rows.push_back(out_.lags[ix(l + lag0)]);
    }
    for (const std::int32_t l : part.lags_out) {
        out_.lags_out.push_back(l + lag0);
        out_.out_rows.push_back(out_.lags[ix(l + lag0)]);
    }
    append(out_.exit_of, part.exit_of);
    out_.tail.resize(out_.tail.size() + part.operations.size(), 0);

    std::size_t at = 0;
    for (const CompiledOperation& o : part.operations) {
        out_.operations.push_back(o);
        CompiledOperation& c = out_.operations.back();
        c.modes = moved(o.modes, mode0);
        c.not_before = o.fixed ? o.not_before : std::max(o.not_before, place.release);
        c.job = place.job;
        c.order = place.order;
        c.chosen += out_.chosen_size;
        c.block += block0;
        c.lags_in = moved(o.lags_in, in0);
        c.lags_out = moved(o.lags_out, out0);
        c.same_mode = moved(o.same_mode, same_mode0);
        c.same_resource = moved(o.same_resource, same_resource0);
        c.takes = moved(o.takes, take0);
        c.gives = moved(o.gives, give0);
        for (std::int32_t m = o.modes.begin; m < o.modes.end; ++m) {
            CompiledMode mode = part.modes[ix(m)];
            if (mode.stages.size() == 0) mode.work = scaled_work(mode.work, factor[at]);
            for (std::int32_t s = mode.stages.begin; s < mode.stages.end; ++s) {
                DryingClock::Stage stage = part.stages[ix(s)];
                stage.work *= factor[at];
                out_.stages.push_back(stage);
            }
            mode.stages = moved(mode.stages, stage0);
            out_.modes.push_back(mode);
        }
        ++at;
    }
    for (const std::int32_t other : part.same_mode)
        out_.same_mode.push_back(other + op0);
    for (CompiledSameResource s : part.same_resource) {
        s.other += op0;
        out_.same_resource.push_back(s);
    }
    for (CompiledTake t : part.takes) {
        t.index += out_.take_count;
        out_.takes.push_back(t);
    }
    append(out_.gives, part.gives);
    for (Block b : part.blocks) {
        b.operations = moved(b.operations, ops0);
        b.job = place.job;
        out_.blocks.push_back(b);
    }
    for (const std::int32_t i : part.block_operations)
        out_.block_operations.push_back(i + op0);
    out_.chosen_size += part.chosen_size;
    out_.take_count += part.take_count;
    if (place.after >= 0) link(place.after, core::Edge::End, 0, op0);
    return op0;
}

// The rows of one operation lie side by side: they move to the end, with one more.
void Assembly::also(std::vector<std::int32_t>& list, std::vector<CompiledLag>& copies, Range& range,
                    std::int32_t lag) {
    const Range old = range;
    range.begin = rows(list);
    for (std::int32_t k = old.begin; k < old.end; ++k) {
        list.push_back(list[ix(k)]);
        copies.push_back(copies[ix(k)]);
    }
    list.push_back(lag);
    copies.push_back(out_.lags[ix(lag)]);
    range.end = rows(list);
}

void Assembly::link(std::int32_t from, core::Edge edge, Tick min, std::int32_t to) {
    const std::int32_t lag = rows(out_.lags);
    out_.lags.push_back({.from = from, .to = to, .edge = edge, .min = min, .cross = true});
    also(out_.lags_out, out_.out_rows, out_.operations[ix(from)].lags_out, lag);
    also(out_.lags_in, out_.in_rows, out_.operations[ix(to)].lags_in, lag);
    ++out_.blocks[ix(out_.operations[ix(to)].block)].waits_for;
}

void Assembly::fix(std::int32_t operation, const Known& known) {
    CompiledOperation& o = out_.operations[ix(operation)];
    o.fixed = o.happened = true;
    o.plain = false;
    o.not_before = o.not_after = known.start;
    o.batch_family = -1;
    if (known.took) o.takes = {};
    if (known.gave) o.gives = {};
    out_.blocks[ix(o.block)].urgent = true;
    out_.blocks[ix(o.block)].latest = -never;
    CompiledMode& m = out_.modes[ix(o.modes.begin + known.mode)];
    const Range old = m.needs;
    m.needs.begin = rows(out_.needs);
    for (std::int32_t n = old.begin; n < old.end; ++n) {
        CompiledNeed need = out_.needs[ix(n)];
        const std::int32_t r = known.chosen[ix(n - old.begin)];
        const CompiledResource& resource = out_.resources[ix(r)];
        const bool shared = resource.has_batch || resource.capacity == 1;
        if (known.over || (!known.counted && shared)) need.amount = 0;
        need.any_of = {rows(out_.candidates), rows(out_.candidates) + 1};
        out_.candidates.push_back(r);
        out_.needs.push_back(need);
    }
    m.needs.end = rows(out_.needs);
    m.candidates = m.needs.size();
    m.overlaps = false;
    m.ask = -1;
    if (known.work < 0) return;
    m.work = known.work;
    m.stages = {};
    m.coupled = false;
    o.coupled = false;
    o.pausable = false;
}

void Assembly::close(std::int32_t resource, Tick from, Tick to) {
    CompiledResource& r = out_.resources[ix(resource)];
    const Range old = r.windows;
    r.windows.begin = rows(out_.windows);
    const auto keep = [&](Tick a, Tick b) {
        if (a < b) out_.windows.push_back({a, b});
    };
    const auto cut = [&](CompiledWindow w) {
        if (to <= w.from || w.to <= from) {
            keep(w.from, w.to);
            return;
        }
        keep(w.from, std::min(w.to, from));
        keep(std::max(w.from, to), w.to);
    };
    if (r.has_calendar) {
        for (std::int32_t w = old.begin; w < old.end; ++w)
            cut(out_.windows[ix(w)]);
    } else {
        cut({out_.horizon_start, out_.horizon_end});
    }
    r.has_calendar = true;
    r.windows.end = rows(out_.windows);
}

void Assembly::finish(std::int32_t jobs) {
    out_.job_range.assign(ix(jobs), {});
    for (const CompiledOperation& o : out_.operations) {
        if (o.job >= 0) ++out_.job_range[ix(o.job)].end;
    }
    std::int32_t next = 0;
    next_of_job_.resize(ix(jobs));
    for (std::int32_t j = 0; j < jobs; ++j) {
        Range& r = out_.job_range[ix(j)];
        next_of_job_[ix(j)] = next;
        r = {next, next + r.end};
        next = r.end;
    }
    out_.job_operations.resize(ix(next));
    for (const std::int32_t i : out_.block_operations) {
        const std::int32_t j = out_.operations[ix(i)].job;
        if (j >= 0) out_.job_operations[ix(next_of_job_[ix(j)]++)] = i;
    }
    out_.measure_full_loads();  // of this day, not of all that the book could bring
    add_exits();
}

// As CompiledProblem::make_exits, with the book's numbers.
void Assembly::add_exits() {
    out_.exit_steps.clear();
    out_.exit_range.clear();
    for (const Range& ops : out_.job_range) {
        const std::int32_t begin = rows(out_.exit_steps);
        bool fits = true;
        for (std::int32_t k = ops.begin; k < ops.end; ++k) {
            const std::int32_t op = out_.job_operations[ix(k)];
            const Block& block = out_.blocks[ix(out_.operations[ix(op)].block)];
            const std::int32_t first = out_.block_operations[ix(block.operations.begin)];
            const std::int32_t e = out_.exit_of[ix(op)];
            if (rows(out_.exit_steps) == begin || out_.exit_steps.back().operation != first)
                out_.exit_steps.push_back({first, 0});
            fits = fits && e < 64;
            if (e >= 0 && e < 64) out_.exit_steps.back().exits |= std::uint64_t{1} << e;
        }
        if (!fits) out_.exit_steps.resize(ix(begin));
        out_.exit_range.push_back({begin, rows(out_.exit_steps)});
    }
}

}  // namespace sched::engine
