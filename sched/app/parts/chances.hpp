#pragma once
// What random variation makes of a plan: the simulated days behind --replications, --robust and
// --policy.

#include <cstdint>
#include <string>
#include <vector>

#include "sched/app/parts/question.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/solution.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// Whose days are simulated: the room of a question, as it was compiled.
struct SimulatedRoom {
    const Question& question;
    const compile::CompileOptions& how;  // its breaks are where `room` has them
    const compile::RoomProblem& room;
};

/// Takes the plan through many days of different random variation and writes the chances of each
/// order and step beside it.
/// @param turns of the plan (ChancePlan::turns); empty: by planned start.
void add_chances(const SimulatedRoom& of, const core::Schedule& schedule,
                 const std::vector<std::int32_t>& turns, report::PlanDocument& document);

/// Of plans of the room, not empty, the number of the one that stands the simulated days best.
/// @param words what was chosen and why.
std::size_t choose_of(const SimulatedRoom& of, const std::vector<core::Schedule>& plans,
                      std::string& words);

}  // namespace sched::app
