#pragma once
// Moves on the order in which places and people take their operations: one pair changes its turn,
// or one operation changes hands, and all the rest keeps its order and is timed anew.

#include "sched/search/room/point.hpp"

namespace sched::search {

/// The present schedule with one such change, as a point that says everything: ranks, choices,
/// modes and a wait for each operation that does not start when its lags allow. The change is made
/// where an order that costs waits (interchange on the disjunctive graph; Roy and Sussmann 1964,
/// van Laarhoven, Aarts and Lenstra 1992). Times are those of unary resources with their calendars,
/// drying as long as in the present schedule; what else the problem asks is left to the decoder.
/// @returns false if it found nothing to change or the change contradicts itself.
bool graph_move(RoomPoint& point, const RoomView& view, Rng& rng);

/// The schedule of the view, nothing moved: said as the moves say theirs, so that decoding one
/// after it begins where the two differ. @returns false if the times cannot be kept.
bool as_graph(RoomPoint& point, const RoomView& view);

}  // namespace sched::search
