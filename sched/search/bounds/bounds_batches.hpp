#pragma once
// How many operations can share a batch at all: what each member is surely charged with.

#include <cstdint>
#include <vector>

#include "sched/core/problem.hpp"

namespace sched::search {

/// Per operation: no batch that it can be in has more members than this; 1 without a batch.
///
/// From the areas, not by packing: functions that no packing can use up twice (dual feasible
/// functions: S. P. Fekete & J. Schepers, "A general framework for bounds for higher-dimensional
/// orthogonal packing problems", Math. Meth. Oper. Res. 60, 2004), widths and heights apart, the
/// better way round for each member. Never below what fits, often just that.
std::vector<std::int64_t> most_sharers(const core::Problem& problem);

}  // namespace sched::search
