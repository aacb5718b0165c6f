#pragma once
// Why each order is ready no earlier, what each resource did and what is waited for: the findings
// of sched/advise/explain in the room's words.

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// Fills orders' reasons and stories, loads and bottleneck. @pre operations, orders, run are
/// filled.
void explain(const compile::RoomProblem& room, const core::Schedule& schedule,
             PlanDocument& document);

}  // namespace sched::report
