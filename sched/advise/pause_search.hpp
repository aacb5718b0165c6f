#pragma once
// When people take their floating breaks is the plan's decision, too: a search over the places of
// the pauses around the search over sequences.

#include "sched/core/solution.hpp"
#include "sched/search/base/options.hpp"

namespace sched::search {

struct PausedSolution {
    core::Problem problem;    // the given one, its pauses where the plan has them
    core::Solution solution;  // of that problem; its bound holds wherever the pauses lie
};

/// A small part of the budget goes to the pauses where they are; then every pause that may move is
/// tried at every quarter of an hour of its window, and at those of others in exchange, with the
/// found sequence decoded again, and the most promising are searched on; most of the budget goes to
/// the best of these, and at the end the pauses are tried once more. A move is kept only if it
/// makes the plan better, so what comes out is never worse than what the first part found. Without
/// pauses that may move it is solve(). Depends on seed and budget in evaluations alone, whatever
/// the threads.
PausedSolution solve_with_pauses(const core::Problem& problem, const SearchOptions& options);

}  // namespace sched::search
