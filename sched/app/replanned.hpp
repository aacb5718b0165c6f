#pragma once
// Planning again from a plan that hangs on the wall.

#include <optional>
#include <vector>

#include "sched/app/commands.hpp"
#include "sched/search/replan.hpp"

namespace sched::app {

struct Earlier {
    core::Problem problem;
    core::Schedule schedule;
    search::ReplanOptions how;
};

/// The plan.json of --earlier with the times of --now and --frozen; nullopt: none is asked for, or
/// it is wrong (said on the error stream).
std::optional<Earlier> read_earlier(const PlanArgs& args);

search::Replan plan_again(const Earlier& earlier, const core::Problem& problem,
                          const search::SearchOptions& options);

/// "coat B3-2 moves from 10:20 to 11:05, Cleo instead of Ada", one a line.
void print_changes(const core::Problem& problem, const std::vector<search::Change>& changes);

}  // namespace sched::app
