#include "sched/app/parts/pinned.hpp"

#include <cstdio>
#include <sstream>

#include "sched/app/parts/context.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/pin_words.hpp"
#include "sched/core/pauses.hpp"
#include "sched/engine/remaining_problem.hpp"

namespace sched::app {

namespace {

constexpr int kBreakParts = 6;  // of a window: where breaks are tried that contradict pins

// Lines of the command line and of the file; nullopt: it cannot be read (said).
std::optional<std::vector<std::string>> pin_lines(const PlanArgs& args) {
    constexpr std::size_t most_bytes = std::size_t{1} << 20;
    std::vector<std::string> lines = args.pins;
    if (args.pin_file.empty()) return lines;
    const auto text = read_text(args.pin_file, most_bytes);
    if (!text) {
        std::fprintf(stderr, "coatroom plan: %s cannot be read, or is larger than 1 MiB.\n",
                     args.pin_file.c_str());
        return std::nullopt;
    }
    std::istringstream in(*text);
    for (std::string line; std::getline(in, line);)
        lines.push_back(line);
    return lines;
}

}  // namespace

std::optional<int> hold_pins(const PlanArgs& args, const compile::RoomProblem& room,
                             core::Problem& pinned) {
    pinned = room.problem;
    const auto lines = pin_lines(args);
    if (!lines) return BadInput;
    if (lines->empty()) return std::nullopt;
    const PinWords read = read_pins(*lines, room);
    for (const auto& fault : read.faults)
        std::fprintf(stderr, "coatroom plan: %s\n", fault.c_str());
    if (!read.faults.empty()) return BadInput;
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
        return No;
    }
    pinned = search::apply_pins(held, read.pins);
    return std::nullopt;
}

void put_pins(const PlanArgs& args, const compile::RoomProblem& room, core::Problem& pinned) {
    pinned = room.problem;
    const auto lines = pin_lines(args);
    if (lines && !lines->empty())
        pinned = search::apply_pins(room.problem, read_pins(*lines, room).pins);
}

}  // namespace sched::app
