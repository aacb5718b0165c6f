#pragma once
// What random variation makes of a plan: the simulated days behind --replications, --robust and
// --policy.

#include <optional>
#include <vector>

#include "sched/app/parts/commands.hpp"
#include "sched/chance/chance.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/solution.hpp"
#include "sched/report/document/plan_document.hpp"
#include "sched/search/base/options.hpp"

namespace sched::app {

struct ChanceOfPlan {
    const PlanArgs& args;
    const model::Scenario& scenario;
    const compile::CompileOptions& compile_options;
    const compile::RoomProblem& room;
    const search::SearchOptions& search;
    study::Chance chance;
};

/// Lives the plan through many days of different random variation and writes the chances of each
/// order and step beside it.
void add_chances(const ChanceOfPlan& what, const core::Solution& solution,
                 report::PlanDocument& document);

/// Searches args.robust plans, half of the budget for the first, and takes the one that stands the
/// simulated days best. @param words what was chosen and why. @param problem the room's, with pins.
core::Solution solve_robust(const ChanceOfPlan& what, const core::Problem& problem,
                            std::string& words);

/// A part of the budget.
search::SearchOptions share_of(const search::SearchOptions& whole, double part);

/// The same of plans that are made already, not empty. @returns the number of the one to take.
std::size_t choose_of(const ChanceOfPlan& what, const std::vector<core::Schedule>& plans,
                      std::string& words);

}  // namespace sched::app
