#pragma once
// What one more person, place or hour would save, in words: from sched/search/what_if into the plan
// document.

#include "sched/report/plan_document.hpp"
#include "sched/search/what_if.hpp"

namespace sched::report {

/// Fills document.bottleneck.what_ifs, best first, those that save nothing last.
void add_what_ifs(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
                  PlanDocument& document);

}  // namespace sched::report
