#pragma once
// What one more person, place or half hour, or another turn, would save, in words: from
// sched/advise/what_if into the plan document.

#include <optional>
#include <string>
#include <vector>

#include "sched/advise/what_if.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// Fills document.bottleneck.what_ifs, best first, those that save nothing last.
/// @param others words of the problems that the caller brought (search::OtherProblem).
void add_what_ifs(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
                  PlanDocument& document, const std::vector<std::string>& others = {});

/// As they are read: changes of which the same is said share a line, behind the others.
std::vector<WhatIfLine> merged(const std::vector<WhatIfLine>& what_ifs);

/// Says what limits the day: that of which one more saves lateness, or else overtime or time to the
/// finish, in every try of planning again; nothing, if nothing does. Comes before what
/// `make_plan_document` says about waits.
void add_limit(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
               PlanDocument& document);

/// Simulated days chose another plan than the best on paper: names the late orders that are in time
/// in that one. What would help them is no more of anything, and nothing is said to limit the day.
/// @param ready in that plan, per order of the document.
void add_in_time_on_paper(const std::vector<std::optional<SimTime>>& ready, PlanDocument& document);

}  // namespace sched::report
