// Limits that cannot all be kept from the moment of the plan on.

#include <algorithm>
#include <variant>

#include "sched/advise/replan.hpp"
#include "sched/engine/remaining_problem.hpp"

namespace sched::search {

namespace {

// A maximum lag that may be exceeded; times in ticks.
struct Exceedable {
    std::size_t constraint;
    core::TimeLag lag;
    std::optional<std::int64_t> edge;  // known: what has begun

    std::int64_t excess(std::int64_t from, std::int64_t to) const {
        return std::max<std::int64_t>(0, to - edge.value_or(from) - lag.max->count());
    }
};

std::vector<Exceedable> exceedable(const core::Problem& problem) {
    std::vector<int> fact(problem.operations.size(), -1);
    std::vector<char> under_way(problem.jobs.size(), 0);
    for (std::size_t k = 0; k < problem.begun.size(); ++k) {
        const core::OperationId id = problem.begun[k].operation;
        fact[id.index()] = static_cast<int>(k);
        const core::JobId job = problem.operations[id.index()].job;
        if (job.valid()) under_way[job.index()] = 1;
    }
    const auto ends = engine::ends_of_work(problem);
    const engine::RemainingProblem present(problem);
    const auto& over = present.missed();  // nobody can keep these anyway
    const auto tick = [](core::SimTime t) { return t.time_since_epoch().count(); };
    std::vector<Exceedable> found;
    for (std::size_t c = 0; c < problem.constraints.size(); ++c) {
        const auto* lag = std::get_if<core::TimeLag>(&problem.constraints[c]);
        if (!lag || !lag->max || fact[lag->to.index()] >= 0 ||
            std::find(over.begin(), over.end(), c) != over.end())
            continue;
        const core::JobId job = problem.operations[lag->to.index()].job;
        if (!job.valid() || !under_way[job.index()]) continue;
        // A place that is handed over stays handed over.
        if (lag->edge == core::Edge::End && *lag->max == core::Seconds{0}) continue;
        Exceedable e{c, *lag, std::nullopt};
        if (const int k = fact[lag->from.index()]; k >= 0) {
            const core::Begun& b = problem.begun[static_cast<std::size_t>(k)];
            if (lag->edge == core::Edge::Start) e.edge = tick(b.start);
            if (lag->edge == core::Edge::WorkEnd && ends[static_cast<std::size_t>(k)])
                e.edge = tick(*ends[static_cast<std::size_t>(k)]);
            if (lag->edge == core::Edge::End && b.end) e.edge = tick(*b.end);
        }
        found.push_back(e);
    }
    return found;
}

}  // namespace

core::Problem without_limits_under_way(const core::Problem& problem) {
    core::Problem loose = problem;
    for (const Exceedable& e : exceedable(problem))
        std::get<core::TimeLag>(loose.constraints[e.constraint]).max.reset();
    return loose;
}

Relaxed let_limits_go(const core::Problem& problem, const EarlierPlan& earlier,
                      const ReplanOptions& how, const SearchOptions& options) {
    Relaxed result;
    result.problem = problem;
    const auto limits = exceedable(problem);
    for (const Exceedable& e : limits)
        std::get<core::TimeLag>(result.problem.constraints[e.constraint]).max.reset();
    ReplanOptions loose = how;
    loose.still_right = false;
    loose.excess = [&](const engine::FlatSchedule& f) {
        std::int64_t sum = 0;
        for (const Exceedable& e : limits) {
            const std::size_t from = e.lag.from.index();
            sum += e.excess(e.lag.edge == core::Edge::Start     ? f.start[from]
                            : e.lag.edge == core::Edge::WorkEnd ? f.work_end[from]
                                                                : f.end[from],
                            f.start[e.lag.to.index()]);
        }
        return sum;
    };
    EarlierPlan known = earlier;
    known.resize(problem.operations.size());
    result.replan = replan(result.problem, known, loose, options);
    if (!result.replan.solution.schedule) return result;
    const auto tick = [](core::SimTime t) { return t.time_since_epoch().count(); };
    for (const Exceedable& e : limits) {
        const auto& from = result.replan.solution.schedule->placements[e.lag.from.index()];
        const auto& to = result.replan.solution.schedule->placements[e.lag.to.index()];
        const core::SimTime edge = e.lag.edge == core::Edge::Start     ? from.start
                                   : e.lag.edge == core::Edge::WorkEnd ? from.work_end
                                                                       : from.end;
        if (tick(to.start) - tick(edge) > e.lag.max->count()) {
            result.missed.push_back(e.constraint);
        } else {
            std::get<core::TimeLag>(result.problem.constraints[e.constraint]).max = e.lag.max;
        }
    }
    return result;
}

}  // namespace sched::search
