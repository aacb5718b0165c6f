#include "sched/app/pinned.hpp"

#include <cstdio>
#include <sstream>

#include "sched/app/context.hpp"
#include "sched/app/files.hpp"
#include "sched/app/pin_words.hpp"
#include "sched/engine/present.hpp"

namespace sched::app {

std::optional<int> hold_pins(const PlanArgs& args, const compile::RoomProblem& room,
                             core::Problem& pinned) {
    pinned = room.problem;
    constexpr std::size_t most_bytes = std::size_t{1} << 20;
    std::vector<std::string> lines = args.pins;
    if (!args.pin_file.empty()) {
        const auto text = read_text(args.pin_file, most_bytes);
        if (!text) {
            std::fprintf(stderr, "coatroom plan: %s cannot be read, or is larger than 1 MiB.\n",
                         args.pin_file.c_str());
            return BadInput;
        }
        std::istringstream in(*text);
        for (std::string line; std::getline(in, line);)
            lines.push_back(line);
    }
    if (lines.empty()) return std::nullopt;
    const PinWords read = read_pins(lines, room);
    for (const auto& fault : read.faults)
        std::fprintf(stderr, "coatroom plan: %s\n", fault.c_str());
    if (!read.faults.empty()) return BadInput;
    const engine::Present present(room.problem);
    if (const auto wrong = search::find_contradiction(present.problem(), read.pins)) {
        std::fprintf(stderr, "coatroom plan: %s\n",
                     search::words(present.problem(), *wrong, read.words).c_str());
        return No;
    }
    pinned = search::apply_pins(room.problem, read.pins);
    return std::nullopt;
}

}  // namespace sched::app
