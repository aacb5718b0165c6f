// How it works: translations between the flat schedule and core::Schedule, and the objective
// counted on the flat one. Overtime of a shared batch is counted once: a member adds only what
// it works beyond the members before it.

#include "sched/engine/sequence.hpp"

#include <algorithm>

#include "sched/core/calendar.hpp"

namespace sched::engine {

namespace {

core::SimTime instant(Tick t) {
    return core::SimTime{core::Seconds{t}};
}

std::int64_t overtime_seconds(const CompiledProblem& p, const FlatSchedule& f) {
    std::int64_t total = 0;
    Tick first = never;  // most work ends before any overtime begins
    for (const CompiledWindow& w : p.overtime)
        first = std::min(first, w.from);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        if (f.work_end[i] > first) total += overtime_of(p, f, i, i);
    }
    return total;
}

// Of work_end of the operations before `known` that share the batch and the resource, the latest.
Tick batch_works_until(const CompiledProblem& p, const FlatSchedule& f, std::size_t i,
                       std::int32_t resource, std::size_t known) {
    Tick until = f.start[i];
    for (std::size_t k = 0; k < known; ++k) {
        if (k == i || f.batch[k] != f.batch[i]) continue;
        const CompiledOperation& o = p.operations[k];
        const Range ns = p.modes[static_cast<std::size_t>(o.modes.begin + f.mode[k])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            const auto chosen = f.chosen[static_cast<std::size_t>(o.chosen + n - ns.begin)];
            if (chosen == resource && !p.needs[static_cast<std::size_t>(n)].whole)
                until = std::max(until, f.work_end[k]);
        }
    }
    return until;
}

}  // namespace

std::int64_t overtime_of(const CompiledProblem& p, const FlatSchedule& f, std::size_t i,
                         std::size_t known) {
    std::int64_t total = 0;
    const CompiledOperation& o = p.operations[i];
    const Range ns = p.modes[static_cast<std::size_t>(o.modes.begin + f.mode[i])].needs;
    for (std::int32_t n = ns.begin; n < ns.end; ++n) {
        if (p.needs[static_cast<std::size_t>(n)].whole) continue;
        const auto r =
            static_cast<std::size_t>(f.chosen[static_cast<std::size_t>(o.chosen + n - ns.begin)]);
        const Range w = p.resources[r].overtime;
        for (std::int32_t k = w.begin; k < w.end; ++k) {
            const CompiledWindow& x = p.overtime[static_cast<std::size_t>(k)];
            if (x.from >= f.work_end[i]) break;
            if (core::overlap(f.start[i], f.work_end[i], x.from, x.to) == 0) continue;
            Tick from = f.start[i];
            if (f.batch[i] >= 0 && (p.resources[r].has_batch || p.resources[r].capacity == 1))
                from = batch_works_until(p, f, i, static_cast<std::int32_t>(r), known);
            total += core::overlap(from, f.work_end[i], x.from, x.to);
        }
    }
    return total;
}

std::string words(Obstacle obstacle) {
    switch (obstacle) {
        case Obstacle::None:
            return "nothing";
        case Obstacle::Horizon:
            return "would end after the horizon";
        case Obstacle::Window:
            return "its latest start passes";
        case Obstacle::Deadline:
            return "its order's deadline passes";
        case Obstacle::Closed:
            return "no resource that it needs is ever open and free long enough";
        case Obstacle::Material:
            return "no store ever holds what it takes";
        case Obstacle::Blocked:
            return "places wait for each other";
        case Obstacle::Limits:
            return "its maximum lags cannot be met together";
        case Obstacle::Choice:
            return "the same mode or resource cannot be kept";
    }
    return {};
}

void FlatSchedule::reset(const CompiledProblem& p) {
    const std::size_t n = p.operations.size();
    start.assign(n, -1);
    work_end.assign(n, -1);
    end.assign(n, -1);
    mode.assign(n, -1);
    batch.assign(n, -1);
    chosen.assign(static_cast<std::size_t>(p.chosen_size), -1);
    stores.assign(static_cast<std::size_t>(p.take_count), -1);
}

core::Schedule to_schedule(const CompiledProblem& p, const FlatSchedule& flat) {
    core::Schedule s;
    s.placements.resize(p.operations.size());
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const CompiledOperation& o = p.operations[i];
        core::Placement& q = s.placements[i];
        q.start = instant(flat.start[i]);
        q.work_end = instant(flat.work_end[i]);
        q.end = instant(flat.end[i]);
        q.mode = flat.mode[i];
        const Range ns = p.modes[static_cast<std::size_t>(o.modes.begin + flat.mode[i])].needs;
        for (std::int32_t n = 0; n < ns.size(); ++n) {
            q.chosen.emplace_back(flat.chosen[static_cast<std::size_t>(o.chosen + n)]);
        }
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
            const auto index = static_cast<std::size_t>(p.takes[static_cast<std::size_t>(t)].index);
            q.stores.emplace_back(flat.stores[index]);
        }
        if (flat.batch[i] >= 0) q.batch = flat.batch[i];
    }
    return s;
}

void put(const CompiledProblem& p, std::size_t i, const core::Placement& placed,
         FlatSchedule& flat) {
    const CompiledOperation& o = p.operations[i];
    flat.start[i] = placed.start.time_since_epoch().count();
    flat.work_end[i] = placed.work_end.time_since_epoch().count();
    flat.end[i] = placed.end.time_since_epoch().count();
    flat.mode[i] = static_cast<std::int16_t>(placed.mode);
    for (std::size_t n = 0; n < placed.chosen.size(); ++n)
        flat.chosen[static_cast<std::size_t>(o.chosen) + n] = placed.chosen[n].value;
    for (std::size_t k = 0; k < placed.stores.size(); ++k) {
        const CompiledTake& take = p.takes[static_cast<std::size_t>(o.takes.begin) + k];
        flat.stores[static_cast<std::size_t>(take.index)] = placed.stores[k].value;
    }
    flat.batch[i] = placed.batch ? *placed.batch : -1;
}

FlatSchedule to_flat(const CompiledProblem& p, const core::Schedule& schedule) {
    FlatSchedule flat;
    flat.reset(p);
    for (std::size_t i = 0; i < schedule.placements.size(); ++i)
        put(p, i, schedule.placements[i], flat);
    return flat;
}

void completions(const CompiledProblem& p, const FlatSchedule& f, std::vector<Tick>& completion) {
    completion.assign(p.order_due.size(), -never);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const CompiledOperation& o = p.operations[i];
        if (o.order < 0) continue;
        Tick& c = completion[static_cast<std::size_t>(o.order)];
        c = std::max(c, o.stretch >= never ? f.work_end[i] : f.end[i]);
    }
}

void evaluate(const CompiledProblem& p, const FlatSchedule& f, std::vector<Tick>& completion,
              std::vector<std::int64_t>& parts) {
    completion.assign(p.order_due.size(), -never);
    Tick last = p.horizon_start;
    std::int64_t holding = 0;
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const CompiledOperation& o = p.operations[i];
        const Tick done = o.stretch >= never ? f.work_end[i] : f.end[i];
        last = std::max(last, done);
        holding += f.end[i] - f.work_end[i];
        if (o.order >= 0) {
            Tick& c = completion[static_cast<std::size_t>(o.order)];
            c = std::max(c, done);
        }
    }
    parts.clear();
    for (const core::Criterion criterion : p.problem.objective) {
        const bool overtime = criterion == core::Criterion::Overtime;
        parts.push_back(worth(p, criterion,
                              {.orders = completion,
                               .last = last,
                               .overtime = overtime ? overtime_seconds(p, f) : 0,
                               .holding = holding}));
    }
}

std::int64_t worth(const CompiledProblem& p, core::Criterion criterion, const Ends& ends) {
    std::int64_t v = 0;
    switch (criterion) {
        case core::Criterion::WeightedTardiness:
            for (std::size_t k = 0; k < ends.orders.size(); ++k) {
                if (ends.orders[k] > p.order_due[k])
                    v += p.order_weight[k] * (ends.orders[k] - p.order_due[k]);
            }
            return v;
        case core::Criterion::LateOrders:
            for (std::size_t k = 0; k < ends.orders.size(); ++k)
                v += ends.orders[k] > p.order_due[k] ? 1 : 0;
            return v;
        case core::Criterion::Overtime:
            return ends.overtime;
        case core::Criterion::Makespan:
            return ends.last - p.horizon_start;
        case core::Criterion::Holding:
            return ends.holding;
        case core::Criterion::FlowTime:
            for (std::size_t k = 0; k < ends.orders.size(); ++k) {
                if (ends.orders[k] > -never) v += ends.orders[k] - p.order_release[k];
            }
            return v;
    }
    return v;
}

}  // namespace sched::engine
