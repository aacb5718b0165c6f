#pragma once
// A plan that carries its own question may carry an easier one than the room asks. Here the
// scenario is asked once more, and what the plan document says otherwise is named.

#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// Compiles the scenario as the plan was compiled, puts the plan's schedule on it and writes the
/// document again. @returns each list of the document that comes out otherwise; empty: all alike.
/// What only the run itself knew (budget, simulated chances, what would help) is not compared.
/// @pre not a plan from the middle of the day: what had begun stands in no file.
std::vector<std::string> otherwise_asked(const report::PlanDocument& document,
                                         const model::Scenario& scenario);

}  // namespace sched::app
