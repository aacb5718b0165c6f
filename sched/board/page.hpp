#pragma once
// The board's own page: now and next, black and amber. Script and style come from the board itself.

#include <string>
#include <vector>

#include "sched/report/words/navigation.hpp"

namespace sched::board {

/// The page without any script or style in it: what it loads are /board.js, /marks.js, /board.css.
std::string board_page();

/// Its content security policy: nothing but its own files, no script in the page.
std::string board_policy();

/// What the board serves, for the line of links on each of its pages.
const std::vector<report::PageLink>& board_pages();

}  // namespace sched::board
