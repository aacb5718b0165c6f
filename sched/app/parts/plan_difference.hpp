#pragma once
// What a new plan changes for whom, as JSON for the board.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// {"orders": [{name, due, was, now, late_was, late_now}], "people": [{name, rows: [{screen, step,
/// was, now, place_was, place, change}], more}], "steps": n}. Times local, null: not in that plan;
/// late: chance to be late. Only what is still to come at `now`, and no carrying.
std::string plan_difference(const report::PlanDocument& was, const report::PlanDocument& is,
                            model::SimTime now);

}  // namespace sched::app
