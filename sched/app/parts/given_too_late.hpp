#pragma once
// Late orders that no person and no place can save: their frames or films are there too late.

#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// Names them, three at most, before everything else that is said of what limits the day: those
/// that cannot be in time with all the hands in the world, and could be if what comes later were
/// there from the start.
void add_given_too_late(const model::Scenario& scenario, const compile::RoomProblem& room,
                        report::PlanDocument& document);

}  // namespace sched::app
