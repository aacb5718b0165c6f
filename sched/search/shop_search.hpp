#pragma once
// Shops as a whole: a population of tabu-searched solutions and relinking between them.

#include "sched/core/solution.hpp"
#include "sched/search/options.hpp"

namespace sched::search {

/// Job shops, flexible job shops and hybrid flow shops with makespan, job shops with weighted
/// tardiness. One evaluation = one schedule (one move carried out, or one list decoded).
/// @returns Status::Unknown without a schedule when `problem` is none of these.
core::Solution solve_shop(const core::Problem& problem, const SearchOptions& options);

}  // namespace sched::search
