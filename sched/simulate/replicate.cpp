#include "sched/simulate/replicate.hpp"

#include <algorithm>
#include <atomic>
#include <cassert>
#include <cmath>
#include <set>
#include <thread>

#include "sched/core/calendar.hpp"
#include "sched/simulate/begun_day.hpp"
#include "sched/simulate/day_run.hpp"
#include "sched/simulate/executor.hpp"

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

using engine::Tick;

/// Capacity-seconds within [from, to) of every resource. A batch counts once at its place, and with
/// whoever minds it.
void measure_use(const engine::CompiledProblem& p, const engine::FlatSchedule& s, Tick from,
                 Tick to, std::vector<std::pair<std::int32_t, std::int32_t>>& counted,
                 Replication& out) {
    const std::size_t count = p.resources.size();
    out.working.assign(count, 0);
    out.allocated.assign(count, 0);
    out.open.assign(count, 0);
    for (std::size_t r = 0; r < count; ++r) {
        const auto& resource = p.resources[r];
        Tick open = resource.has_calendar ? 0 : to - from;
        for (std::int32_t w = resource.windows.begin; w < resource.windows.end; ++w) {
            const auto& window = p.windows[static_cast<std::size_t>(w)];
            open += core::overlap(window.from, window.to, from, to);
        }
        out.open[r] = open * resource.capacity;
    }
    counted.clear();
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const auto& o = p.operations[i];
        const auto ns = p.modes[static_cast<std::size_t>(o.modes.begin + s.mode[i])].needs;
        for (std::int32_t n = 0; n < ns.size(); ++n) {
            const std::int32_t r = s.chosen[static_cast<std::size_t>(o.chosen + n)];
            const auto& resource = p.resources[static_cast<std::size_t>(r)];
            if (s.batch[i] >= 0 && (resource.has_batch || resource.capacity == 1)) {
                const std::pair<std::int32_t, std::int32_t> batch{s.batch[i], r};
                if (std::find(counted.begin(), counted.end(), batch) != counted.end()) continue;
                counted.push_back(batch);
            }
            const auto& need = p.needs[static_cast<std::size_t>(ns.begin + n)];
            const Tick last = need.whole ? s.end[i] : s.work_end[i];
            out.working[static_cast<std::size_t>(r)] +=
                need.amount * core::overlap(s.start[i], s.work_end[i], from, to);
            out.allocated[static_cast<std::size_t>(r)] +=
                need.amount * core::overlap(s.start[i], last, from, to);
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
    std::unique_ptr<DayKit> kit;  // nullptr: days are realised one by one
    core::Window hours;
};

/// What one thread needs to live through days; runs by kind of day, made when first needed.
struct Worker {
    std::vector<std::unique_ptr<DayRun>> runs;
    DayDisturbances disturbances;
    std::vector<std::pair<std::int32_t, std::int32_t>> counted;
    std::vector<Tick> done;
};

std::size_t day_of(const std::vector<std::unique_ptr<DayRoom>>& days, const engine::Draws& draws) {
    if (days.size() == 1) return 0;
    double total = 0.0;
    for (const auto& d : days)
        total += d->weight;
    double u = total * draws.uniform({engine::name_key("weather"), 0, 0, 0});
    for (std::size_t d = 0; d < days.size(); ++d) {
        if (u < days[d]->weight) return d;
        u -= days[d]->weight;
    }
    return days.size() - 1;
}

void measure(const engine::CompiledProblem& p, const engine::FlatSchedule& schedule,
             std::size_t planned_orders, const DayRoom& day, Worker& worker, Replication& out) {
    const Tick start = p.horizon_start;
    auto& done = worker.done;
    done.assign(p.order_due.size(), start);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const auto& o = p.operations[i];
        if (o.order < 0) continue;
        const Tick end = o.stretch < engine::never ? schedule.end[i] : schedule.work_end[i];
        Tick& order = done[static_cast<std::size_t>(o.order)];
        order = std::max(order, end);
    }
    for (std::size_t o = 0; o < done.size(); ++o) {
        if (o < planned_orders) {
            out.ready.push_back(done[o] - start);
            out.last_ready = std::max(out.last_ready, out.ready.back());
        } else {
            out.rush_late += done[o] > p.order_due[o] ? 1 : 0;
        }
    }
    const auto tick = [](SimTime t) { return t.time_since_epoch().count(); };
    measure_use(p, schedule, tick(day.hours.from), tick(day.hours.to), worker.counted, out);
}

// The run's parts come first in a day, in the order in which a kit and a realiser place them.
void keep_times(const DayDisturbances& disturbances, const engine::FlatSchedule& schedule,
                Tick start, int run_operations, Replication& out) {
    out.begun.assign(static_cast<std::size_t>(run_operations), -1);
    out.done = out.begun;
    std::size_t op = 0;
    for (const DayPart& part : disturbances.parts) {
        for (int i = part.first; i < part.first + part.count; ++i, ++op) {
            if (part.round != 0) continue;
            out.begun[static_cast<std::size_t>(i)] =
                static_cast<std::int32_t>(schedule.start[op] - start);
            out.done[static_cast<std::size_t>(i)] =
                static_cast<std::int32_t>(schedule.work_end[op] - start);
        }
    }
}

Replication live_through(const std::vector<std::unique_ptr<DayRoom>>& days,
                         const engine::Draws& draws, bool operations, Worker& worker) {
    Replication out{.number = draws.replication()};
    const std::size_t number = day_of(days, draws);
    const DayRoom& day = *days[number];
    DayDisturbances& disturbances = worker.disturbances;
    day.realiser->disturbances().draw(draws, 1.0, disturbances);
    out.remakes = disturbances.remakes;
    out.failures = disturbances.failures;
    out.absences = disturbances.absences;
    out.late_films = disturbances.late_films;
    out.rush_orders = static_cast<int>(disturbances.orders.size()) - disturbances.copies;
    const std::size_t planned = day.room.problem.orders.size();
    if (day.kit) {
        worker.runs.resize(days.size());
        auto& run = worker.runs[number];
        if (!run) run = std::make_unique<DayRun>(*day.kit);
        if (!run->live(disturbances, draws)) return out;
        out.improvised = run->improvised();
        out.complete = true;
        out.objective = run->objective();
        measure(run->problem(), run->schedule(), planned, day, worker, out);
        if (operations)
            keep_times(disturbances, run->schedule(), run->problem().horizon_start,
                       day.realiser->run_operations(), out);
        return out;
    }
    Reality reality = day.realiser->build(disturbances, draws);
    SimulatedDay simulated = day.policy->live(reality);
    out.improvised = simulated.improvised;
    out.misses = simulated.misses;
    if (!simulated.complete) return out;
    out.complete = true;
    out.objective = std::move(simulated.objective);
    reality.problem.now.reset();  // measured as a whole day
    reality.problem.begun.clear();
    const engine::CompiledProblem compiled(reality.problem);
    const auto flat = engine::to_flat(compiled, simulated.schedule);
    measure(compiled, flat, planned, day, worker, out);
    if (operations)
        keep_times(disturbances, flat, compiled.horizon_start, day.realiser->run_operations(), out);
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
        {"follow", "the plan: its people, its agreements; who is late is waited for no longer"},
        {"in-order", "the plan's order on every place and person, however late"},
        {"timetable", "as follow, never before the planned time"},
        {"review", "the plan's order; every two hours what is left is ranked anew by urgency"}};
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
    std::size_t steps = 0;
    for (const auto& one : all)
        steps = std::max(steps, one.begun.size());
    std::vector<double> begun, done;
    for (std::size_t i = 0; i < steps; ++i) {
        begun.clear();
        done.clear();
        for (const auto& one : all) {
            if (i >= one.begun.size() || one.begun[i] < 0) continue;
            begun.push_back(one.begun[i]);
            done.push_back(one.done[i]);
        }
        OperationOutcome out{.n = begun.size()};
        if (out.n > 0) {
            std::sort(begun.begin(), begun.end());
            std::sort(done.begin(), done.end());
            out.begin_p10 = sample_quantile(begun, 0.1);
            out.begin_p90 = sample_quantile(begun, 0.9);
            out.done_p10 = sample_quantile(done, 0.1);
            out.done_p90 = sample_quantile(done, 0.9);
        }
        r.operations.push_back(out);
    }
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
        auto compiled = compile::compile_room(on_day(scenario, kind, longer.start, longer.days),
                                              longer, diagnostics);
        if (!compiled) return std::nullopt;
        day->room = *std::move(compiled);
        take_over_remaining(room.problem, day->room.problem);
        day->realiser = std::make_unique<Realiser>(scenario, day->room, options.chance);
        if (plan != nullptr &&
            static_cast<int>(plan->placements.size()) != day->realiser->run_operations()) {
            return std::nullopt;  // a plan of something else
        }
        day->policy = Policy::make(options.policy, day->room, plan);
        if (!day->policy) return std::nullopt;
        if (!room.problem.now) day->kit = DayKit::make(day->realiser->disturbances(), *day->policy);
        day->hours = opening_hours(day->room);
        days.push_back(std::move(day));
    }

    std::vector<Replication> all;
    Replications result;
    std::vector<Worker> workers(static_cast<std::size_t>(std::max(1, options.threads)));
    const std::size_t batch = options.precision ? 50 : 250;
    while (all.size() < options.replications) {
        const std::size_t begin = all.size();
        const std::size_t end = std::min(options.replications, begin + batch);
        all.resize(end);
        std::atomic<std::size_t> next{begin};
        const auto work = [&](Worker& worker) {
            for (std::size_t r = next++; r < end; r = next++) {
                const engine::Draws draws(options.seed, options.first + r);
                all[r] = live_through(days, draws, options.operations, worker);
            }
        };
        {
            std::vector<std::jthread> pool;
            for (std::size_t t = 1; t < workers.size(); ++t)
                pool.emplace_back([&, t] { work(workers[t]); });
            work(workers[0]);
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
