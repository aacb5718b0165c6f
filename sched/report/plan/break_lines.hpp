#pragma once
// Who has a break when: lines of the plan document, and their words.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// Fills `breaks` with those that begin before the run's last end. @pre `run` is filled.
void add_breaks(const core::Problem& problem, PlanDocument& document);

/// "11:15–11:45", and where the plan chose it " (between 11:00 and 12:30)": the whole window.
std::string break_words(const PlanDocument& document, const BreakLine& line);

/// Over before the moment of a plan in the middle of the day: nothing to tell anybody any more.
bool is_over(const PlanDocument& document, const BreakLine& line);

/// "Break 09:15–09:30; break 11:15–11:45." of one person, those that are over left out; empty:
/// none.
std::string breaks_of(const PlanDocument& document, const std::string& person);

/// Where the lines are not what the problem says; empty if they agree.
std::vector<std::string> break_contradictions(const PlanDocument& document);

}  // namespace sched::report
