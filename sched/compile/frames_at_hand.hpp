#pragma once
// What if the frames that an order waits for stood in the store already: others like them.

#include <string>

#include "sched/compile/room_problem.hpp"

namespace sched::compile {

/// Of each line of frames.csv that screens of the order wait for beyond `after`, so many are there
/// from the start. @param order index into Scenario::orders. @param scenario that of the room; it
/// is changed. @returns "2 more frames 58 x 84 cm 77-55, inky"; empty: it waits for none.
std::string frames_at_hand(const RoomProblem& room, int order, core::SimTime after,
                           model::Scenario& scenario);

}  // namespace sched::compile
