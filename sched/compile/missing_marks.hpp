#pragma once
// Marks are forgotten: where by the marks more screens are at a station than it has places, or a
// screen would be spoilt that by the plan went on in time, one is moved along its way, and that is
// said, so that the lead can correct it.

#include <map>
#include <string>
#include <vector>

#include "model/room/state.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::compile {

/// A screen that is at a station by now.
struct Occupant {
    int screen = 0;             // index into RoomProblem::screens
    std::size_t operation = 0;  // that holds its place
    core::SimTime since{};
    bool over = false;      // the step has lasted as long as it takes by the plan
    core::SimTime ended{};  // when it had, if it is over
};

/// A station with more screens than places.
struct Crowd {
    std::string station;
    std::vector<Occupant> screens;
};

/// Which way each screen has been moved: once on its way forward it is not sent back, so that the
/// moving ends.
using Moved = std::map<int, bool>;  // true: forward

/// Moves one of them a step. In this order: what has lasted as long as it takes has left, what
/// hangs there longest first; of what nothing is marked it has not come yet, what comes last by the
/// plan first; of what is marked the first has left when the last came. What has lasted as long as
/// it takes is done since then, whenever it left.
/// @param begun the operations that have begun, one flag each. @param planned_ends of operations.
/// @returns false: none of them can be moved.
bool move_one(const Crowd& crowd, const RoomProblem& room, const std::vector<char>& begun,
              const std::vector<std::optional<core::SimTime>>& planned_ends, core::SimTime now,
              model::RoomState& state, Moved& moved);

/// Of a screen whose next step has to have begun by now and has no mark: it is in that step, or has
/// done it, since the plan says so, and what is wet hangs from then on. @param who with the
/// operation of that step. @pre as move_one; the operation is on the screen's way.
void go_on(const Occupant& who, const RoomProblem& room, const std::vector<char>& begun,
           const std::vector<std::optional<core::SimTime>>& planned_ends, core::SimTime now,
           model::RoomState& state);

}  // namespace sched::compile
