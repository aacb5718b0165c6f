#pragma once
// The judge's word on a schedule, printed.

#include "sched/core/schedule.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// Whether the independent checker finds nothing; prints what it finds.
bool passes(const core::Problem& problem, const core::Schedule& schedule);

/// Whether the plan keeps the rules of the room as its files say them (sched/check/room); prints
/// what it finds, at most `most_breaches` lines. @param inputs the scenario's files as they are;
/// empty: digests are not compared.
bool passes_room(const report::PlanDocument& document, const model::Scenario& scenario,
                 const std::vector<report::InputFile>& inputs);
inline constexpr std::size_t most_breaches = 40;

/// Whether the lists of the document agree with each other; prints where they do not.
bool agrees(const report::PlanDocument& document);

/// Both of these for a plan that was just made: what it breaks is a fault of the program, and said
/// so.
bool passes_all(const report::PlanDocument& document, const model::Scenario& scenario);

}  // namespace sched::app
