#pragma once
// Moving a resource's time off: the pause and the hole that it is in the calendar, together.

#include <vector>

#include "sched/core/problem.hpp"

namespace sched::core {

/// Puts pause `index` to `at`. @pre earliest <= at <= latest. Time of another pause stays closed.
void move_pause(Problem& problem, std::size_t index, SimTime at);

/// Puts each of `places` to where it is there, if the problem has it (same resource, window and
/// length) and it is free of the resource's other pauses.
void place_pauses(Problem& problem, const std::vector<Pause>& places);

/// Whether pause `index` at `at` would be in its window and apart from the resource's other ones.
bool pause_fits(const Problem& problem, std::size_t index, SimTime at);

/// Puts every pause, where it fits, to the same part of its window: its beginning and `part` /
/// `parts` of the rest, on whole minutes.
void shift_pauses(Problem& problem, int part, int parts);

/// The problem as if nobody took a pause that may be moved: a schedule of any placing is one of it,
/// so its bounds hold for all of them.
Problem without_movable_pauses(Problem problem);

}  // namespace sched::core
