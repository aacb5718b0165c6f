#pragma once
// Pins of the command line and of a file, put on the problem.

#include <optional>
#include <string>
#include <vector>

#include "sched/compile/room_problem.hpp"

namespace sched::app {

struct Pinned {
    core::Problem problem;      // the room's with the pins: a schedule of it is one of the room's
    std::optional<int> status;  // of the program, if the pins cannot be read or contradict each
                                // other (said on the error stream)
};

/// Where pins come from: those from `first` on are lines of a file.
struct PinFile {
    std::string name;
    std::size_t first = 0;
};

/// @param lines pins, one a line (pin_words.hpp).
/// @param room gets the weights that pins give its orders, so that values are stated with them.
Pinned hold_pins(const std::vector<std::string>& lines, compile::RoomProblem& room,
                 const PinFile& file = {});

/// What the pins say, as it was written; empty without pins.
std::vector<std::string> pins_in_words(const std::vector<std::string>& lines,
                                       const compile::RoomProblem& room);

/// The same for a room with more operations, where hold_pins found nothing wrong before.
core::Problem with_pins(const std::vector<std::string>& lines, const compile::RoomProblem& room);

}  // namespace sched::app
