#pragma once
// The board's own page: now and next, black and amber.

#include <string>

namespace sched::board {

/// Self-contained but for what it asks of its own server: /state and /board.json.
std::string board_page();

}  // namespace sched::board
