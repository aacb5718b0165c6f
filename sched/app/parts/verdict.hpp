#pragma once
// The judge's word on a schedule, printed.

#include "sched/compile/room_problem.hpp"
#include "sched/core/solution.hpp"

namespace sched::app {

/// Whether the independent checker finds nothing; prints what it finds.
bool passes(const core::Problem& problem, const core::Schedule& schedule);

/// Says that no plan was found, or that there is none.
void print_no_plan(const compile::RoomProblem& room, const core::Solution& solution);

}  // namespace sched::app
