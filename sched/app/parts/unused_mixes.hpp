#pragma once
// What a found plan would mix or buy for nobody is left out of it.

#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/room_of_plan.hpp"

namespace sched::app {

/// As many pots are mixed as the coats need in whatever order they come, and without what is left
/// in a pot that ends during the run. Once the plan stands it is known which of them no coat takes
/// from: those go, with their work, and what is still to be bought goes before what is in stock.
/// What has begun stays. Room and plan become those of the room without them; both stay as they are
/// where the plan would break a rule of it.
void leave_out_unused_mixes(const Question& question, RoomOfPlan& room, FoundPlan& plan);

}  // namespace sched::app
