// How it works: from the plan alone it is found who followed whom at each resource, who shared
// a batch, and who gave way to whom; these pairs are the agreements. For a day they are said
// again in that day's operations, which may be fewer or more than the plan's.

#include "sched/engine/baseline.hpp"

#include <algorithm>
#include <numeric>

#include "sched/core/index.hpp"

namespace sched::engine {

namespace {

Tick edge_time(const core::Placement& p, core::Edge edge) {
    const auto t = edge == core::Edge::Start     ? p.start
                   : edge == core::Edge::WorkEnd ? p.work_end
                                                 : p.end;
    return t.time_since_epoch().count();
}

Tick start_tick(const core::Placement& p) {
    return p.start.time_since_epoch().count();
}

}  // namespace

Agreements::Agreements(const CompiledProblem& problem, const core::Schedule& plan) : plan_(plan) {
    const std::size_t n = planned();
    releases_.resize(n);
    turns_.resize(problem.resources.size());
    std::vector<std::int32_t> by(n);
    std::iota(by.begin(), by.end(), 0);
    // Of blocks that begin together and share a batch the one with the longest work opens it, and
    // the others fit in.
    std::vector<Tick> shared(problem.blocks.size(), 0);
    for (std::size_t i = 0; i < n; ++i) {
        const core::Placement& x = plan_.placements[i];
        Tick& most = shared[ix(problem.operations[i].block)];
        if (x.batch) most = std::max<Tick>(most, (x.work_end - x.start).count());
    }
    std::sort(by.begin(), by.end(), [&](std::int32_t a, std::int32_t b) {
        const auto &x = plan_.placements[ix(a)], &y = plan_.placements[ix(b)];
        if (x.start != y.start) return x.start < y.start;
        const Tick sx = shared[ix(problem.operations[ix(a)].block)];
        const Tick sy = shared[ix(problem.operations[ix(b)].block)];
        return sx > sy || (sx == sy && a < b);
    });
    rank_.resize(n);
    for (std::size_t k = 0; k < n; ++k)
        rank_[ix(by[k])] = static_cast<std::int32_t>(k);
    for (const std::int32_t i : by) {
        for (const core::ResourceId r : plan_.placements[ix(i)].chosen)
            turns_[r.index()].push_back(i);
    }
    find_releases(problem, to_flat(problem, plan_));
}

// Who gives way at the very start of i. A place with room to spare holds nobody up: only what was
// full just before counts.
void Agreements::find_releases(const CompiledProblem& p, const FlatSchedule& flat) {
    for (std::size_t i = 0; i < planned(); ++i) {
        const CompiledOperation& o = p.operations[i];
        const core::Placement& placed = plan_.placements[i];
        const Tick start = flat.start[i];
        auto& out = releases_[i];
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = p.lags[ix(p.lags_in[ix(k)])];
            if (ix(l.from) >= planned()) continue;
            if (edge_time(plan_.placements[ix(l.from)], l.edge) + l.min == start)
                out.push_back({.operation = l.from, .edge = l.edge, .min = l.min});
        }
        const Range needs = p.modes[ix(o.modes.begin + placed.mode)].needs;
        for (std::int32_t n = 0; n < needs.size(); ++n) {
            const std::size_t r = placed.chosen[ix(n)].index();
            std::int32_t used = 0, before = -1;
            std::vector<Release> leave;
            for (const std::int32_t q : turns_[r]) {
                const core::Placement& other = plan_.placements[ix(q)];
                if (start_tick(other) >= start) break;
                if (ix(q) == i) continue;
                before = q;
                const Range theirs =
                    p.modes[ix(p.operations[ix(q)].modes.begin + other.mode)].needs;
                for (std::int32_t m = 0; m < theirs.size(); ++m) {
                    if (other.chosen[ix(m)].index() != r) continue;
                    const CompiledNeed& need = p.needs[ix(theirs.begin + m)];
                    const core::Edge edge = need.whole ? core::Edge::End : core::Edge::WorkEnd;
                    const Tick left = edge_time(other, edge);
                    if (left < start) continue;
                    used += need.amount;
                    if (left == start) leave.push_back({.operation = q, .edge = edge});
                }
            }
            if (used + p.needs[ix(needs.begin + n)].amount > p.resources[r].capacity)
                out.insert(out.end(), leave.begin(), leave.end());
            if (before >= 0) out.push_back({.operation = before, .turn = true});
        }
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
            const std::size_t store = placed.stores[ix(t - o.takes.begin)].index();
            for (std::size_t q = 0; q < planned(); ++q) {
                if (flat.work_end[q] != start) continue;
                const CompiledOperation& giver = p.operations[q];
                for (std::int32_t g = giver.gives.begin; g < giver.gives.end; ++g) {
                    if (ix(p.gives[ix(g)].store) == store)
                        out.push_back({.operation = static_cast<std::int32_t>(q),
                                       .edge = core::Edge::WorkEnd});
                }
            }
        }
    }
}

void Baseline::set(const CompiledProblem& day, const Agreements& agreements,
                   const std::vector<std::int32_t>& place, Recourse how) {
    recourse = how;
    const std::size_t n = day.operations.size();
    start.assign(n, -never);
    work_end.assign(n, -never);
    end.assign(n, -never);
    order.clear();
    mode.assign(n, -1);
    chosen.assign(ix(day.chosen_size), -1);
    stores.assign(ix(day.take_count), -1);
    batch.assign(n, -1);
    release_range.assign(n, {});
    releases.clear();
    follower_range.assign(n, {});
    for (std::size_t k = 0; k < agreements.planned(); ++k) {
        if (place[k] < 0) continue;
        const std::size_t i = ix(place[k]);
        const core::Placement& placed = agreements.plan().placements[k];
        const CompiledOperation& o = day.operations[i];
        start[i] = start_tick(placed);
        work_end[i] = edge_time(placed, core::Edge::WorkEnd);
        end[i] = edge_time(placed, core::Edge::End);
        batch[i] = placed.batch.value_or(-1);
        if (o.begun) continue;  // a fact
        order.push_back(static_cast<std::int32_t>(i));
        mode[i] = static_cast<std::int16_t>(placed.mode);
        for (std::size_t c = 0; c < placed.chosen.size(); ++c)
            chosen[ix(o.chosen) + c] = placed.chosen[c].value;
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t)
            stores[ix(day.takes[ix(t)].index)] = placed.stores[ix(t - o.takes.begin)].value;
        Range& own = release_range[i];
        own.begin = static_cast<std::int32_t>(releases.size());
        for (Release x : agreements.releases(k)) {
            if (x.turn && how != Recourse::Order) continue;
            x.operation = place[ix(x.operation)];
            if (x.operation < 0) continue;
            if (day.operations[ix(x.operation)].block == o.block) continue;
            releases.push_back(x);
            ++follower_range[ix(x.operation)].end;
        }
        own.end = static_cast<std::int32_t>(releases.size());
    }
    std::sort(order.begin(), order.end(), [&](std::int32_t a, std::int32_t b) {
        return start[ix(a)] < start[ix(b)] || (start[ix(a)] == start[ix(b)] && a < b);
    });
    std::int32_t sum = 0;
    next_.resize(n);
    for (std::size_t i = 0; i < n; ++i) {
        const std::int32_t count = follower_range[i].end;
        next_[i] = sum;
        follower_range[i] = {sum, sum + count};
        sum += count;
    }
    followers.resize(ix(sum));
    for (std::size_t i = 0; i < n; ++i) {
        for (std::int32_t k = release_range[i].begin; k < release_range[i].end; ++k)
            followers[ix(next_[ix(releases[ix(k)].operation)]++)] = day.operations[i].block;
    }
    turns.clear();
    turn_range.assign(day.resources.size(), {});
    for (std::size_t r = 0; r < day.resources.size(); ++r) {
        turn_range[r].begin = static_cast<std::int32_t>(turns.size());
        for (const std::int32_t k : agreements.turns(r)) {
            if (place[ix(k)] >= 0) turns.push_back(place[ix(k)]);
        }
        turn_range[r].end = static_cast<std::int32_t>(turns.size());
    }
    find_ahead(day);
}

// A block may wait inside for another one that begins after it (a lamp that warms up meanwhile). It
// can be booked when the other one is.
void Baseline::find_ahead(const CompiledProblem& day) {
    ahead.assign(day.blocks.size(), never);
    const auto begins = [&](std::int32_t block) {
        const Tick first = start[ix(day.ops_of(day.blocks[ix(block)]).front())];
        return first > -never ? std::min(first, ahead[ix(block)]) : never;
    };
    for (bool changed = true; changed;) {
        changed = false;
        for (const std::int32_t to : order) {
            const CompiledOperation& o = day.operations[ix(to)];
            if (o.place == 0) continue;
            for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
                const CompiledLag& l = day.in_rows[ix(k)];
                if (!l.cross || start[ix(l.from)] <= -never) continue;
                const std::int32_t other = day.operations[ix(l.from)].block;
                const Tick from = begins(o.block);
                if (from >= begins(other)) continue;
                ahead[ix(other)] = from;
                changed = true;
            }
        }
    }
}

}  // namespace sched::engine
