#pragma once
// A hand-made day: three screens of two orders, one of them late. Invented data. Names carry what
// breaks careless writers: quotes, angle brackets, ampersands, a formula, letters beyond ASCII.

#include "sched/report/document/plan_document.hpp"

namespace fixture {

model::Scenario scenario();
sched::compile::RoomProblem room();
sched::core::Solution solution();
sched::report::PlanDocument document();

/// `document()` with loads, reasons, story and what-ifs written by hand, so that the golden files
/// change with the renderers only.
sched::report::PlanDocument golden_document();

}  // namespace fixture
