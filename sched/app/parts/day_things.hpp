#pragma once
// Films, pots and frames as a state says they are: put into the scenario that is planned.

#include "model/base/diagnostic.hpp"
#include "model/room/order.hpp"
#include "model/room/state.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// @param earlier the plan that hangs, or none: what it calls pots and frames, and what it has
/// taken from pots by now. @returns false when diagnostics got an error.
bool put_things(model::RoomState& state, model::SimTime now, const report::PlanDocument* earlier,
                model::Scenario& scenario, model::Diagnostics& diagnostics);

/// By the plan's files alone: what it was not told of pots binds nobody, and what it mixes was not
/// opened yet.
void as_plan_knew(const report::PlanDocument& document, const model::Room& as_read,
                  model::Scenario& scenario);

}  // namespace sched::app
