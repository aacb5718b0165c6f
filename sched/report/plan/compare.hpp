#pragma once
// Two plans side by side: what differs and what it does.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// For a terminal, `width` columns: aims that changed, orders that become ready at another time,
/// inputs that differ, how many steps changed time, place or person and which moved most, resources
/// whose load changed by a point or more. Steps are matched by screen tag, step, round and words,
/// orders by name; what stands in one plan only is named. `a` is the older plan.
std::string compare_documents(const PlanDocument& a, const PlanDocument& b, int width = 80);

}  // namespace sched::report
