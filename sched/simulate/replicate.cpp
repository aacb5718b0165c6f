// How it works: threads take day numbers from one counter and keep the day's figures at its
// number, so their sum does not depend on who simulated which day. Each thread has its own run of
// the engine for each kind of day. Days come in batches, looked at after each: it ends when the
// precision that was asked for is reached, at the latest with the count.

#include "sched/simulate/replicate.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

#include "sched/simulate/day_rooms.hpp"

namespace sched::study {

namespace {

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
            // A day that did not end is late for everybody: nothing is promised on its account. But
            // what was ready before the rest of the day began is so on every day.
            const bool over =
                problem.now && !ready.empty() &&
                *std::max_element(ready.begin(), ready.end()) <=
                    static_cast<double>((*problem.now - problem.horizon_start).count());
            if (!over || out.late > 0) out.late += static_cast<std::int64_t>(r.incomplete);
            out.n = static_cast<std::int64_t>(r.used + r.incomplete);
            out.chance_late = wilson_interval(out.late, out.n, confidence);
            out.tardiness = mean_interval(tardiness, confidence);
        }
        std::sort(ready.begin(), ready.end());
        // A time of one of the days: halfway between an evening and a morning nobody is there.
        const auto quantile = [&](double q) {
            return QuantileEstimate{sample_quantile(ready, q, QuantileType::First),
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
            out.begin_p10 = sample_quantile(begun, 0.1, QuantileType::First);
            out.begin_p90 = sample_quantile(begun, 0.9, QuantileType::First);
            out.done_p10 = sample_quantile(done, 0.1, QuantileType::First);
            out.done_p90 = sample_quantile(done, 0.9, QuantileType::First);
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
    const auto days = DayRooms::make(scenario, compile_options, room, plan, options);
    if (!days) return std::nullopt;

    std::vector<Replication> all;
    std::vector<char> simulated;  // per replication; not all of them when it was stopped
    Replications result;
    std::vector<DayRooms::Worker> workers(static_cast<std::size_t>(std::max(1, options.threads)));
    const std::size_t batch = options.precision ? 50 : 250;
    while (all.size() < options.replications) {
        const std::size_t begin = all.size();
        const std::size_t end = std::min(options.replications, begin + batch);
        all.resize(end);
        simulated.resize(end, 0);
        std::atomic<std::size_t> next{begin};
        const auto work = [&](DayRooms::Worker& worker) {
            for (std::size_t r = next++; r < end; r = next++) {
                if (options.stop && options.stop()) return;
                const engine::Draws draws(options.seed, options.first + r);
                all[r] = days->simulate(draws, {.operations = options.operations}, worker);
                simulated[r] = 1;
            }
        };
        {
            std::vector<std::jthread> pool;
            for (std::size_t t = 1; t < workers.size(); ++t)
                pool.emplace_back([&, t] { work(workers[t]); });
            work(workers[0]);
        }
        const auto first_not = std::find(simulated.begin(), simulated.end(), 0);
        all.resize(static_cast<std::size_t>(first_not - simulated.begin()));
        if (first_not != simulated.end()) break;
        if (options.progress) options.progress(end, options.replications);
        if (options.precision) {
            result = summarise(room.problem, all, options.confidence);
            if (result.used > 0 && all_precise(result, *options.precision)) {
                result.precise = true;
                break;
            }
        }
    }
    const bool precise = result.precise;
    result = summarise(room.problem, all, options.confidence);
    result.precise = precise;
    result.policy = options.policy;
    return result;
}

}  // namespace sched::study
