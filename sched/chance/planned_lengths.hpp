#pragma once
// What is planned of a step's time, and what chance.yaml says of it: two words on one thing.

#include <cstddef>
#include <functional>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/room/chance.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::study {

/// Per operation: its planned length, s; of computed drying alone in its first place. 0 where it is
/// not wanted.
std::vector<double> planned_lengths(const compile::RoomProblem& room,
                                    const std::function<bool(std::size_t)>& wanted);

/// Warns of every law whose median is not what is planned for the step on any of the day's screens:
/// plans are made of the one, days are simulated by the other.
void compare_laws(const model::ChanceSettings& settings, const compile::RoomProblem& room,
                  model::Diagnostics& diagnostics);

}  // namespace sched::study
