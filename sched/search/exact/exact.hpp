#pragma once
// The exact planner: finds schedules and proves that nothing is better, by lazy clause generation
// (see lcg_engine.hpp and exact_model.hpp for the papers). It knows operations, resources and lags
// only.

#include <string>

#include "sched/core/solution.hpp"
#include "sched/search/base/options.hpp"

namespace sched::search {

/// @returns true when everything that the problem demands is modelled in full: an allow list
/// (exact_supports.cpp). Not on it (yet): drying clocks, batches, stores, pauses over calendars,
/// overtime windows, fillers, work that has begun, and sums beyond 2^29 grains of time.
/// @param why if given, gets the first reason in words.
bool exact_supports(const core::Problem& problem, std::string* why = nullptr);

/// Minimises the criteria one after the other. One evaluation of the budget is one conflict or one
/// schedule. Optimal: every criterion is proved in its turn; `bound` holds what was proved of the
/// first criterion and lower_bounds() (bounds.hpp) for the rest. Single-threaded; the same problem,
/// budget in evaluations and incumbent give the same answer.
/// @param incumbent a schedule known to be right (it is not checked here), or null.
/// @pre validate(problem) is empty. A problem that is not supported gives Unknown at once.
core::Solution solve_exact(const core::Problem& problem, const SearchOptions& options,
                           const core::Schedule* incumbent = nullptr);

}  // namespace sched::search
