#pragma once
// One line an order on a common time axis, the riskiest first: when it is due, when it is planned
// ready, where it ends on eight of ten simulated days. Why it is no earlier opens on touch.

#include <string>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// Orders that have work, by their chance to be late, then by how late they are planned, then due.
std::vector<const OrderLine*> by_risk(const PlanDocument& document);

/// HTML: an axis and a <details> for each order. Empty without orders.
std::string order_bars(const PlanDocument& document);

/// "06:00 Ada: dissolve the sensitizer of blue 2", what everybody does first, in time order.
std::vector<std::string> first_things(const PlanDocument& document);

}  // namespace sched::report
