#pragma once
// What the board's page draws itself from: of the plan document, in short rows.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::board {

/// Members: room, invented, t0, t1, now (of a plan from the middle of the day), stations, people,
/// breaks, orders, pots, tags and tag_orders (of the screens), steps, over (rows that were over
/// when the plan was made), rows. A row: tag, step, round from 0, words of what has no screen,
/// place, other places, people, places taken, start, work end, end, place kept until, people kept
/// until, exposure. Names are indices, -1: none; times are seconds since 1970-01-01T00:00 local,
/// null: as `end`, or none.
std::string board_json(const report::PlanDocument& document);

}  // namespace sched::board
