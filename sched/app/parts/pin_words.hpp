#pragma once
// What the lead wants held, in words: "A7 by 12:30", "coat A7-2 with Cleo", "A9 after A3",
// "all without Ben", "A12 counts 9".

#include <string>
#include <vector>

#include "sched/advise/pins.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::app {

struct PinWords {
    std::vector<search::Pin> pins;
    std::vector<std::string> words;        // one per pin, as written
    std::vector<std::string> faults;       // what could not be read, with what to write instead
    std::vector<std::size_t> fault_lines;  // of each, from 0
};

/// @param lines one pin each; empty ones and those that begin with # are passed over.
PinWords read_pins(const std::vector<std::string>& lines, const compile::RoomProblem& room);

}  // namespace sched::app
