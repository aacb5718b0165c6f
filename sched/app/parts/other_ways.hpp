#pragma once
// What would help and only the scenario can tell: a film that comes sooner, a frame more, a coat
// fewer, nobody who stays longer.

#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "sched/advise/what_if.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/simulate/what_if_days.hpp"

namespace sched::app {

struct OtherWays {
    std::vector<search::OtherProblem> problems;
    std::vector<study::OtherRoom> rooms;  // the same, for simulated days
    std::vector<std::string> words;       // one each: "the film of A7 an hour sooner"
};

/// Where somebody works overtime: nobody does. For the costliest late orders: their films an hour
/// sooner, or frames like those that come back later, where one held them up, and one coat fewer,
/// said to be a decision on quality. What no longer compiles, or asks for other steps, is left out.
OtherWays other_ways(const model::Scenario& scenario, const compile::CompileOptions& options,
                     const compile::RoomProblem& room, const core::Schedule& schedule);

}  // namespace sched::app
