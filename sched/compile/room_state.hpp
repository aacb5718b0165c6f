#pragma once
// state.yaml against the compiled room: what has begun, who is there, what is out of work.

#include <optional>
#include <string>
#include <vector>

#include "model/room/state.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/schedule.hpp"

namespace sched::compile {

/// What the posted plan says, one per operation; nullopt: nothing.
using PostedPlan = std::vector<std::optional<core::Placement>>;

/// Sets now and begun of the room's problem, from `begun` (what the posted plan says has begun by
/// then) and the state, which has the last word; takes people and stations that are away out of
/// their calendars. Work in the hands of somebody who has gone is taken over by somebody who can do
/// it and has nothing in hand.
/// @param notes one sentence for each thing that was told, in the room's words.
/// @returns false when diagnostics got an error.
bool apply_state(const model::RoomState& state, core::SimTime now, const PostedPlan& posted,
                 std::vector<core::Begun> begun, RoomProblem& room, std::vector<std::string>& notes,
                 model::Diagnostics& diagnostics);

}  // namespace sched::compile
