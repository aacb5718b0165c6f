#include "sched/compile/frames_at_hand.hpp"

#include <fmt/format.h>

#include <map>

#include "model/base/units.hpp"
#include "model/room/frame_fit.hpp"
#include "sched/core/index.hpp"

namespace sched::compile {

std::string frames_at_hand(const RoomProblem& room, int order, core::SimTime after,
                           model::Scenario& scenario) {
    std::map<int, int> waits;  // line of frames.csv -> frames
    for (const ScreenInfo& screen : room.screens) {
        if (screen.order != order || screen.stock < 0) continue;
        const auto& from = scenario.frames[ix(screen.stock)].from;
        if (from && *from > after) ++waits[screen.stock];
    }
    std::map<std::string, int> alike;  // frames that differ in nothing but when they come
    for (const auto& [line, count] : waits) {
        model::FrameStock more = scenario.frames[ix(line)];
        scenario.frames[ix(line)].count -= count;
        more.count = count;
        more.from.reset();
        alike[fmt::format("{} {}, {}", model::format_size(more.size), more.mesh,
                          model::row_of(more.state).words)] += count;
        scenario.frames.push_back(std::move(more));
    }
    std::string words;
    for (const auto& [what, count] : alike)
        words += fmt::format("{}{} more frame{} {}", words.empty() ? "" : " and ", count,
                             count == 1 ? "" : "s", what);
    return words;
}

}  // namespace sched::compile
