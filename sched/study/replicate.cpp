#include "sched/study/replicate.hpp"

#include <algorithm>
#include <atomic>
#include <cassert>
#include <cmath>
#include <set>
#include <thread>

#include "sched/study/executor.hpp"

namespace sched::study {

using core::SimTime;

namespace {

/// When the room is open on the first day: from the first to the last moment somebody is there.
core::Window opening_hours(const compile::RoomProblem& room) {
    const core::Problem& p = room.problem;
    const SimTime day_end = p.horizon_start + std::chrono::days{1};
    core::Window open{day_end, p.horizon_start};
    for (std::size_t r = 0; r < room.resources.size(); ++r) {
        const auto& calendar = p.resources[r].calendar;
        if (room.resources[r].kind != compile::ResourceKind::Person || !calendar) continue;
        for (const auto& w : *calendar) {
            if (w.from >= day_end) break;
            open.from = std::min(open.from, w.from);
            open.to = std::max(open.to, std::min(w.to, day_end));
        }
    }
    if (open.from >= open.to) return {p.horizon_start, day_end};
    return open;
}

std::int64_t overlap(SimTime a, SimTime b, core::Window w) {
    const auto length = std::min(b, w.to) - std::max(a, w.from);
    return std::max<std::int64_t>(0, length.count());
}

void measure_use(const core::Problem& p, const core::Schedule& schedule, core::Window hours,
                 Replication& out) {
    const std::size_t count = p.resources.size();
    out.working.assign(count, 0);
    out.allocated.assign(count, 0);
    out.open.assign(count, 0);
    for (std::size_t r = 0; r < count; ++r) {
        const auto& resource = p.resources[r];
        std::int64_t open = overlap(hours.from, hours.to, hours);
        if (resource.calendar) {
            open = 0;
            for (const auto& w : *resource.calendar)
                open += overlap(w.from, w.to, hours);
        }
        out.open[r] = open * resource.capacity;
    }
    std::set<std::pair<int, std::size_t>> counted;  // batches count once
    for (std::size_t i = 0; i < schedule.placements.size(); ++i) {
        const auto& placed = schedule.placements[i];
        const auto& mode = p.operations[i].modes[static_cast<std::size_t>(placed.mode)];
        for (std::size_t n = 0; n < mode.needs.size(); ++n) {
            const std::size_t r = placed.chosen[n].index();
            if (placed.batch && (p.resources[r].batch || p.resources[r].capacity == 1) &&
                !counted.emplace(*placed.batch, r).second) {
                continue;
            }
            const bool whole = mode.needs[n].span == core::Span::Whole;
            const std::int64_t amount = mode.needs[n].amount;
            out.working[r] += amount * overlap(placed.start, placed.work_end, hours);
            out.allocated[r] +=
                amount * overlap(placed.start, whole ? placed.end : placed.work_end, hours);
        }
    }
}

/// One kind of day: the room compiled for it, and who makes its realities and executes them.
struct DayRoom {
    std::string kind;
    double weight = 1.0;
    compile::RoomProblem room;
    std::unique_ptr<Realiser> realiser;
    std::unique_ptr<Policy> policy;
    core::Window hours;
};

const DayRoom& day_of(const std::vector<std::unique_ptr<DayRoom>>& days,
                      const engine::Draws& draws) {
    if (days.size() == 1) return *days.front();
    double total = 0.0;
    for (const auto& d : days)
        total += d->weight;
    double u = total * draws.uniform({engine::name_key("weather"), 0, 0, 0});
    for (const auto& d : days) {
        if (u < d->weight) return *d;
        u -= d->weight;
    }
    return *days.back();
}

Replication live_through(const DayRoom& day, const engine::Draws& draws) {
    Replication out{.number = draws.replication()};
    Reality reality = day.realiser->realise(draws);
    const core::Problem& p = reality.problem;
    out.remakes = reality.remakes;
    out.failures = reality.failures;
    out.absences = reality.absences;
    out.late_films = reality.late_films;
    out.rush_orders = reality.rush();
    Lived lived = day.policy->live(reality);
    out.improvised = lived.improvised;
    out.misses = lived.misses;
    if (!lived.complete) return out;
    out.complete = true;
    const core::Schedule& schedule = lived.schedule;
    std::vector<SimTime> done(p.orders.size(), p.horizon_start);
    for (std::size_t i = 0; i < schedule.placements.size(); ++i) {
        const auto& operation = p.operations[i];
        if (!operation.job.valid()) continue;
        const auto& placed = schedule.placements[i];
        SimTime& order = done[p.jobs[operation.job.index()].order.index()];
        order = std::max(order, operation.max_stretch ? placed.end : placed.work_end);
    }
    for (std::size_t o = 0; o < p.orders.size(); ++o) {
        if (static_cast<int>(o) < reality.planned_orders) {
            out.ready.push_back((done[o] - p.horizon_start).count());
            out.last_ready = std::max(out.last_ready, out.ready.back());
        } else {
            out.rush_late += p.orders[o].due && done[o] > *p.orders[o].due ? 1 : 0;
        }
    }
    out.objective = std::move(lived.objective);
    measure_use(p, schedule, day.hours, out);
    return out;
}

MeanInterval mean_over(std::span<const Replication> all, double confidence, auto value) {
    Moments m;
    for (const auto& r : all) {
        if (r.complete) m.add(static_cast<double>(value(r)));
    }
    return mean_interval(m, confidence);
}

bool all_precise(const Replications& r, const Precision& wanted) {
    return std::all_of(r.orders.begin(), r.orders.end(),
                       [&](const OrderOutcome& o) { return precise_enough(o.ready, wanted); });
}

}  // namespace

std::vector<PolicyWords> policies() {
    std::vector<PolicyWords> all = {
        {"follow", "the plan's order, by whoever is free"},
        {"in-order", "the plan's order on every place and person, early if possible"},
        {"timetable", "the same, never before the planned time"}};
    for (const auto& rule : engine::rules())
        all.push_back({rule.name, rule.words});
    return all;
}

Replications summarise(const core::Problem& problem, std::span<const Replication> all,
                       double confidence) {
    Replications r;
    r.all.assign(all.begin(), all.end());
    for (const auto& one : all)
        (one.complete ? r.used : r.incomplete) += 1;
    if (r.used == 0) return r;
    std::vector<double> ready;
    for (std::size_t o = 0; o < problem.orders.size(); ++o) {
        const auto& order = problem.orders[o];
        OrderOutcome out{.name = order.name};
        ready.clear();
        Moments tardiness;
        const std::int64_t due = order.due ? (*order.due - problem.horizon_start).count() : 0;
        for (const auto& one : all) {
            if (!one.complete) continue;
            ready.push_back(static_cast<double>(one.ready[o]));
            if (!order.due) continue;
            out.late += one.ready[o] > due ? 1 : 0;
            tardiness.add(static_cast<double>(std::max<std::int64_t>(0, one.ready[o] - due)));
        }
        out.ready = mean_interval(ready, confidence);
        if (order.due) {
            // A day that did not end is late for everybody: nothing is promised on its account.
            out.late += static_cast<std::int64_t>(r.incomplete);
            out.n = static_cast<std::int64_t>(r.used + r.incomplete);
            out.chance_late = wilson_interval(out.late, out.n, confidence);
            out.tardiness = mean_interval(tardiness, confidence);
        }
        std::sort(ready.begin(), ready.end());
        const auto quantile = [&](double q) {
            return QuantileEstimate{sample_quantile(ready, q),
                                    quantile_interval(ready, q, confidence)};
        };
        out.p10 = quantile(0.1);
        out.p50 = quantile(0.5);
        out.p90 = quantile(0.9);
        r.orders.push_back(std::move(out));
    }
    for (std::size_t k = 0; k < problem.resources.size(); ++k) {
        ResourceOutcome out{.name = problem.resources[k].name};
        Moments working;
        Moments allocated;
        for (const auto& one : all) {
            if (!one.complete || one.open[k] <= 0) continue;
            const double open = static_cast<double>(one.open[k]);
            working.add(static_cast<double>(one.working[k]) / open);
            allocated.add(static_cast<double>(one.allocated[k]) / open);
        }
        if (working.count() > 0) {
            out.utilisation = mean_interval(working, confidence);
            out.allocation = mean_interval(allocated, confidence);
        }
        r.resources.push_back(std::move(out));
    }
    for (std::size_t c = 0; c < problem.objective.size(); ++c) {
        r.objective.push_back(
            mean_over(all, confidence, [c](const Replication& x) { return x.objective[c]; }));
    }
    r.late_orders = mean_over(all, confidence, [&](const Replication& x) {
        int late = 0;
        for (std::size_t o = 0; o < problem.orders.size(); ++o) {
            const auto& due = problem.orders[o].due;
            late += due && x.ready[o] > (*due - problem.horizon_start).count() ? 1 : 0;
        }
        return late;
    });
    r.misses = mean_over(all, confidence, [](const Replication& x) { return x.misses; });
    for (const auto& one : all)
        r.improvised += one.improvised ? 1 : 0;
    r.remakes = mean_over(all, confidence, [](const Replication& x) { return x.remakes; });
    r.last_ready = mean_over(all, confidence, [](const Replication& x) { return x.last_ready; });
    return r;
}

std::optional<Replications> replicate(const model::Scenario& scenario,
                                      const compile::CompileOptions& compile_options,
                                      const compile::RoomProblem& room, const core::Schedule* plan,
                                      const ReplicateOptions& options) {
    std::vector<DayKind> kinds = options.chance.days;
    if (kinds.empty()) kinds.push_back({compile_options.day_kind, 1.0});
    std::vector<std::unique_ptr<DayRoom>> days;
    for (const auto& kind : kinds) {
        auto day = std::make_unique<DayRoom>();
        day->kind = kind.name;
        day->weight = kind.weight;
        compile::CompileOptions longer = compile_options;
        longer.day_kind = kind.name;
        longer.days += options.spare_days;
        longer.spare_ways = true;
        model::Diagnostics diagnostics;
        auto compiled = compile::compile_room(scenario, longer, diagnostics);
        if (!compiled) return std::nullopt;
        day->room = *std::move(compiled);
        day->realiser = std::make_unique<Realiser>(scenario, day->room, options.chance);
        if (plan != nullptr &&
            static_cast<int>(plan->placements.size()) != day->realiser->run_operations()) {
            return std::nullopt;  // a plan of something else
        }
        day->policy = Policy::make(options.policy, day->room, plan);
        if (!day->policy) return std::nullopt;
        day->hours = opening_hours(day->room);
        days.push_back(std::move(day));
    }

    std::vector<Replication> all;
    Replications result;
    const std::size_t batch = options.precision ? 50 : 250;
    while (all.size() < options.replications) {
        const std::size_t begin = all.size();
        const std::size_t end = std::min(options.replications, begin + batch);
        all.resize(end);
        std::atomic<std::size_t> next{begin};
        const auto work = [&] {
            for (std::size_t r = next++; r < end; r = next++) {
                const engine::Draws draws(options.seed, options.first + r);
                all[r] = live_through(day_of(days, draws), draws);
            }
        };
        {
            std::vector<std::jthread> pool;
            for (int t = 1; t < options.threads; ++t)
                pool.emplace_back(work);
            work();
        }
        if (options.progress) options.progress(end, options.replications);
        if (options.precision) {
            result = summarise(room.problem, all, options.confidence);
            if (result.used > 0 && all_precise(result, *options.precision)) {
                result.precise = true;
                break;
            }
        }
        if (options.stop && options.stop()) break;
    }
    const bool precise = result.precise;
    result = summarise(room.problem, all, options.confidence);
    result.precise = precise;
    result.policy = options.policy;
    return result;
}

}  // namespace sched::study
