#pragma once
// Resource-constrained projects with makespan: two populations, one of schedules packed to the left
// and one packed to the right, that breed each other.

#include "sched/core/solution.hpp"
#include "sched/search/options.hpp"

namespace sched::search {

/// One evaluation = one serial schedule generation over all activities, in either direction.
/// @returns Status::Unknown without a schedule when `problem` is no such project.
core::Solution solve_project(const core::Problem& problem, const SearchOptions& options);

}  // namespace sched::search
