#pragma once
// The board's own page: now and next, black and amber.

#include <string>
#include <vector>

#include "sched/report/words/navigation.hpp"

namespace sched::board {

/// Self-contained but for what it asks of its own server: /state and /board.json.
std::string board_page();

/// What the board serves, for the line of links on each of its pages.
const std::vector<report::PageLink>& board_pages();

}  // namespace sched::board
