#pragma once
// Frames that come back from the press while the run goes on are reclaimed in what the found plan
// leaves idle.

#include <string>
#include <vector>

#include "sched/app/parts/question.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/solution.hpp"

namespace sched::app {

struct FilledPlan {
    compile::RoomProblem room;  // with what is done for the store behind the run's operations
    core::Problem pinned;       // its problem with the pins
    core::Solution solution;    // the given one, nothing moved, and the fillers
};

/// When the run's last work is done and the first day's last shift is over, overtime left out: the
/// end of the run for the frame store. Fillers of `room` count as work like others.
core::SimTime end_of_run(const compile::RoomProblem& room, const core::Schedule& schedule);

/// How far returns had come in the posted plan, by their tags: those begun before now.
compile::BegunReturns begun_returns(const Question& question);

/// @param pins lines of them; they hold for the fillers, too. @param solution of the room's
/// problem; its schedule is set. Frames that found no idle time keep their state in
/// FilledPlan::room's stock.
FilledPlan fill_returns(const std::vector<std::string>& pins, const model::Scenario& scenario,
                        const compile::CompileOptions& options, const compile::RoomProblem& room,
                        const core::Solution& solution, const compile::BegunReturns& begun = {});

}  // namespace sched::app
