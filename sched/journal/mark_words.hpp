#pragma once
// A mark as people write it, read against the names of the room: "done A7-2 wash out at 10:12",
// "remake A7-2 pinhole", "down cabinet 2".

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sched/journal/entry.hpp"
#include "sched/journal/present.hpp"

namespace sched::journal {

/// What there is to name, each list in the order in which it is told.
struct Names {
    std::vector<std::string> screens, orders, stations, people, pots;
    std::vector<std::string> promised;  // orders, and what was promised and is none any more
    std::vector<std::string> returned;  // screens and frames at the press; free text is taken, too
    std::vector<Way> ways;              // of the posted plan; empty: nothing is posted
};

/// What the words say, and what is left to be settled.
struct Said {
    Entry entry;                       // its time and device are not set; step empty: not named
    std::optional<std::string> clock;  // behind "at": 10:12, or a date and time
    bool last = false;                 // "undo" alone: the last of the device
};

/// Letters may be large or small where that leaves one name. @returns nullopt with `problem`: what
/// is wrong and the closest names.
std::optional<Said> read_mark(std::string_view words, const Names& names, std::string& problem);

/// "Did you mean A7-1, A7-2 or A7-3?", or, if none is close, the names that there are.
std::string closest(std::string_view word, const std::vector<std::string>& names);

}  // namespace sched::journal
