#pragma once
// Why each order is ready no earlier, what each resource did, and which one limits the day: the
// findings of sched/search/explain in the room's words.

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// Fills orders' reasons and stories, loads and bottleneck. @pre operations, orders, run are
/// filled.
void explain(const compile::RoomProblem& room, const core::Schedule& schedule,
             PlanDocument& document);

}  // namespace sched::report
