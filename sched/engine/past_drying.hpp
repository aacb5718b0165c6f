#pragma once
// What of drying that has begun is still to do at the moment of the plan.

#include <optional>
#include <vector>

#include "sched/core/problem.hpp"

namespace sched::engine {

struct PastDrying {
    std::vector<core::DryStage> left;        // empty: dry
    std::optional<core::SimTime> dry_since;  // by the clock alone, first whole second; <= now
};

/// One per entry of Problem::begun; for what does not dry: empty. @pre problem.now.
std::vector<PastDrying> past_drying(const core::Problem& problem);

}  // namespace sched::engine
