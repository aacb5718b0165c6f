#pragma once
// Pins of the command line and of a file, put on the problem.

#include <optional>

#include "sched/app/parts/commands.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::app {

/// @param pinned becomes the room's problem with the pins: a schedule of it is one of the room's.
/// @returns the exit status when the pins cannot be read or contradict each other (said on the
/// error stream); nullopt: go on.
std::optional<int> hold_pins(const PlanArgs& args, const compile::RoomProblem& room,
                             core::Problem& pinned);

/// The same for a room with more operations, where hold_pins found nothing wrong before.
void put_pins(const PlanArgs& args, const compile::RoomProblem& room, core::Problem& pinned);

}  // namespace sched::app
