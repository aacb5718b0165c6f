#pragma once
// Limits that run already for screens under way (remover is on, the rinse must come): a day's
// random variation may break them, and the day goes on all the same. Seen in this folder only.

#include <optional>
#include <vector>

#include "sched/core/problem.hpp"
#include "sched/core/schedule.hpp"

namespace sched::study {

/// The maximum of a lag from what has begun to what has not; or, where the latter takes over its
/// place, how long the former may stand there.
struct RunningLimit {
    std::size_t constraint = 0;
    core::TimeLag lag;
    std::optional<core::Seconds> stretch;
};

/// Takes all of them out of the problem; places that are handed over stay so.
std::vector<RunningLimit> take_limits_out(core::Problem& problem);

/// Puts those back that the schedule keeps. @returns the number of the others.
int put_kept_limits_back(const std::vector<RunningLimit>& limits, const core::Schedule& schedule,
                         core::Problem& problem);

/// What is exposed together and under way stays in the unit so much longer, until somebody comes:
/// the engine knows no batch that stands. @returns whether there is any.
bool prolong_batches(core::Problem& problem, core::Seconds by);

}  // namespace sched::study
