#include "sched/app/parts/pinned.hpp"

#include <cstdio>

#include "sched/app/parts/context.hpp"
#include "sched/app/parts/pin_words.hpp"
#include "sched/core/pauses.hpp"
#include "sched/engine/remaining_problem.hpp"

namespace sched::app {

namespace {

constexpr int kBreakParts = 6;  // of a window: where breaks are tried that contradict pins

}  // namespace

std::vector<std::string> pins_in_words(const std::vector<std::string>& lines,
                                       const compile::RoomProblem& room) {
    return read_pins(lines, room).words;
}

Pinned hold_pins(const std::vector<std::string>& lines, compile::RoomProblem& room,
                 const PinFile& file) {
    Pinned pinned{.problem = room.problem};
    if (lines.empty()) return pinned;
    const PinWords read = read_pins(lines, room);
    for (std::size_t k = 0; k < read.faults.size(); ++k) {
        const std::size_t line = read.fault_lines[k];
        if (file.name.empty() || line < file.first)
            std::fprintf(stderr, "coatroom plan: %s\n", read.faults[k].c_str());
        else
            std::fprintf(stderr, "%s:%zu:1: error: %s (pin)\n", file.name.c_str(),
                         line - file.first + 1, read.faults[k].c_str());
    }
    if (!read.faults.empty()) {
        pinned.status = BadInput;
        return pinned;
    }
    const engine::RemainingProblem present(room.problem);
    auto wrong = search::find_contradiction(present.problem(), read.pins);
    core::Problem held = room.problem;
    if (wrong && !held.now &&
        !search::find_contradiction(core::without_movable_pauses(held), read.pins)) {
        // Somebody's break is in the way, and it may be moved.
        for (int part = 0; part <= kBreakParts && wrong; ++part) {
            core::shift_pauses(held, part, kBreakParts);
            wrong = search::find_contradiction(held, read.pins);
        }
    }
    if (wrong) {
        std::fprintf(stderr, "coatroom plan: %s\n",
                     search::words(present.problem(), *wrong, read.words).c_str());
        pinned.status = No;
        return pinned;
    }
    pinned.problem = search::apply_pins(held, read.pins);
    for (std::size_t o = 0; o < room.problem.orders.size(); ++o)
        room.problem.orders[o].weight = pinned.problem.orders[o].weight;
    return pinned;
}

core::Problem with_pins(const std::vector<std::string>& lines, const compile::RoomProblem& room) {
    if (lines.empty()) return room.problem;
    return search::apply_pins(room.problem, read_pins(lines, room).pins);
}

}  // namespace sched::app
