#pragma once
// How good a schedule can be at all: a lower bound for every criterion, from relaxations that keep
// one kind of limit each. Works for every Problem, also those that the exact solver does not model.
//
// Sources: J. R. Jackson 1955 / J. Carlier, "The one-machine sequencing problem", EJOR 11 (1982)
// (preemptive one-machine bound with heads and tails); R. Kolisch & A. Sprecher 1996 (resource work
// content); H. W. Kuhn, "The Hungarian method for the assignment problem", 1955, in the
// shortest-path form of R. Jonker & A. Volgenant 1987. The tardiness bound by positions (the order
// that is k-th to leave a resource leaves it no sooner than the k smallest works take) is the usual
// relaxation of 1 || Σ w_j T_j.

#include <cstdint>
#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::search {

/// One number per criterion of Problem::objective, each valid on its own:
///   makespan: longest path with release dates, lags of both kinds and calendars; preemptive
///   one-machine
///     schedule per unary resource; work content per set of resources over their calendars;
///   weighted tardiness, late orders, flow time: per order the earliest completion; per set of
///   resources an
///     assignment of orders to places in the order of leaving it;
///   overtime, holding: 0.
/// Drying counts as alone in the cabinet under the best climate step. O(n * lags) for the paths,
/// O(n log n) per resource, O(orders³) per set of resources.
core::Value lower_bounds(const core::Problem& problem);

/// Least seconds from start to work end in this mode (drying: alone, in the best air).
std::int64_t fastest_work(const core::Problem& problem, const core::Mode& mode);

/// Earliest instants of every operation that the paths allow, in seconds after the horizon's start.
/// An infeasible problem may give any numbers.
struct EarliestTimes {
    std::vector<std::int64_t> start;
    std::vector<std::int64_t> work_end;
    std::vector<std::int64_t> end;
    std::vector<std::int64_t> shortest;  // least seconds from start to work_end
};
EarliestTimes earliest_times(const core::Problem& problem);

}  // namespace sched::search
