#pragma once
// What the plan page's timeline is drawn from: the document's operations as short rows of numbers
// that name tags, steps, places and people once. A page of 120 screens stays under 400 kB.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// JSON: `tags` [tag, order], `what` [step, words with U+0001 for the tag, cautions], `crews` of
/// people, `stations`, `people`, `orders` with the operations of their chain, and `rows`, whose
/// members page.js names. Times are seconds after `epoch`, the midnight before the first start.
std::string timeline_json(const PlanDocument& document);

}  // namespace sched::report
