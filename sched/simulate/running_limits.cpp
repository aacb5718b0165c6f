#include "sched/simulate/running_limits.hpp"

#include <algorithm>
#include <variant>

#include "sched/engine/remaining_problem.hpp"

namespace sched::study {

std::vector<RunningLimit> take_limits_out(core::Problem& problem) {
    std::vector<char> begun(problem.operations.size(), 0);
    for (const auto& b : problem.begun)
        begun[b.operation.index()] = 1;
    std::vector<RunningLimit> out;
    for (std::size_t c = 0; c < problem.constraints.size(); ++c) {
        auto* lag = std::get_if<core::TimeLag>(&problem.constraints[c]);
        if (lag == nullptr || !lag->max || !begun[lag->from.index()] || begun[lag->to.index()])
            continue;
        if (lag->edge == core::Edge::End && *lag->max == core::Seconds{0}) {
            auto& stretch = problem.operations[lag->from.index()].max_stretch;
            if (!stretch) continue;
            out.push_back({c, *lag, stretch});
            stretch.reset();
            continue;
        }
        out.push_back({c, *lag, std::nullopt});
        lag->max.reset();
    }
    return out;
}

int put_kept_limits_back(const std::vector<RunningLimit>& limits, const core::Schedule& schedule,
                         core::Problem& problem) {
    int missed = 0;
    for (const RunningLimit& limit : limits) {
        const auto& from = schedule.placements[limit.lag.from.index()];
        if (limit.stretch) {
            if (from.end <= from.work_end + *limit.stretch)
                problem.operations[limit.lag.from.index()].max_stretch = limit.stretch;
            else
                ++missed;
            continue;
        }
        const core::SimTime edge = limit.lag.edge == core::Edge::Start     ? from.start
                                   : limit.lag.edge == core::Edge::WorkEnd ? from.work_end
                                                                           : from.end;
        if (schedule.placements[limit.lag.to.index()].start <= edge + *limit.lag.max)
            problem.constraints[limit.constraint] = limit.lag;
        else
            ++missed;
    }
    return missed;
}

bool prolong_batches(core::Problem& problem, core::Seconds by) {
    const auto ends = engine::ends_of_work(problem);
    bool any = false;
    for (std::size_t k = 0; k < problem.begun.size(); ++k) {
        core::Begun& b = problem.begun[k];
        if (!b.batch || b.end || !ends[k]) continue;
        b.work_end = std::max(*ends[k], *problem.now) + by;
        any = true;
    }
    return any;
}

}  // namespace sched::study
