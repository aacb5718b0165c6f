#include "sched/simulate/planned_day.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "sched/search/room/room_search.hpp"

namespace sched::study {

namespace {

double start_of(core::SimTime t) {
    return static_cast<double>(t.time_since_epoch().count());
}

}  // namespace

SimulatedDay live_planned(Reality& reality, Reality known, std::int64_t schedules,
                          std::uint64_t seed, core::Seconds margin) {
    for (auto& order : known.problem.orders) {
        if (order.due) *order.due -= margin;
    }
    search::SearchOptions options;
    options.budget.evaluations = schedules;
    options.seed = seed;
    const core::Solution plan = search::search_room(known.problem, options);
    if (!plan.schedule) return {};
    // Jobs have the same numbers in both: random variation adds rush orders after them, and a
    // remake belongs to the job of its screen.
    std::map<std::pair<int, int>, double> planned;  // by job and nominal operation
    for (std::size_t i = 0; i < known.nominal.size(); ++i) {
        planned[{known.problem.operations[i].job.value, known.nominal[i]}] =
            start_of(plan.schedule->placements[i].start);
    }
    std::vector<double> key(reality.nominal.size());
    std::vector<double> turn(reality.problem.jobs.size(), 0.0);
    for (std::size_t i = 0; i < key.size(); ++i) {
        const core::JobId job = reality.problem.operations[i].job;
        const auto found = planned.find({job.value, reality.nominal[i]});
        if (reality.attempt[i] <= 0 && found != planned.end()) {
            key[i] = found->second;
            if (job.valid()) turn[job.index()] = std::max(turn[job.index()], key[i]);
        } else if (reality.attempt[i] > 0) {
            key[i] = turn[job.index()];  // from the moment it failed
        } else if (job.valid()) {
            const auto order = reality.problem.jobs[job.index()].order;
            key[i] = start_of(reality.problem.orders[order.index()].release);
        }
    }
    return live_by_keys(reality, key);
}

}  // namespace sched::study
