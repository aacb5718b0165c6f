#pragma once
// The door of the folder: looks at the structure of a Problem and hands it to the search made for
// it.

#include "sched/core/solution.hpp"
#include "sched/search/base/options.hpp"

namespace sched::search {

/// @returns the best schedule found within the budget and a lower bound. Status::Unknown without a
/// schedule when nothing was found or no search of this folder knows the structure.
core::Solution solve(const core::Problem& problem, const SearchOptions& options);

}  // namespace sched::search
