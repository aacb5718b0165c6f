#pragma once
// What coatroom weeks gives: text for the terminal, JSON, and the lines of its trace.

#include <string>

#include "model/room/order.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/simulate/long_run.hpp"

namespace sched::report {

/// No figure can be made of it, and what is said instead.
bool too_short(const study::LongRun& run);
std::string too_short_words(const study::LongRun& run);

/// @param scenario the folder, as it was named.
std::string weeks_text(const study::LongRun& run, const std::string& scenario);
std::string weeks_json(const study::LongRun& run);

/// One line of the trace, with its line end; docs/simulation.md has the members.
std::string trace_line(const study::TraceEvent& event, const model::Scenario& scenario,
                       const compile::RoomProblem& room);

}  // namespace sched::report
