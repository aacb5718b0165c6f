#include "sched/study/begun_day.hpp"

#include <algorithm>

#include "sched/compile/room_state.hpp"
#include "sched/core/pauses.hpp"

namespace sched::study {

search::EarlierPlan earlier_of(const BegunDay& day, compile::RoomProblem& room) {
    if (!day.hanging) return {};
    core::place_pauses(room.problem, day.hanging->problem.pauses);
    return search::match_by_name(day.hanging->problem, day.hanging->schedule, room.problem);
}

bool put_begun(const BegunDay& day, const search::EarlierPlan& earlier, compile::RoomProblem& room,
               std::vector<std::string>& notes, model::Diagnostics& diagnostics) {
    std::vector<core::Begun> begun;
    if (!earlier.empty()) begun = search::begun_by(room.problem, earlier, day.now);
    return compile::apply_state(day.state, day.now, earlier, std::move(begun), room, notes,
                                diagnostics);
}

void take_over_present(const core::Problem& planned, core::Problem& longer) {
    if (!planned.now) return;
    longer.now = planned.now;
    longer.begun = planned.begun;
    const core::SimTime end = planned.horizon_end;
    for (std::size_t r = 0; r < planned.resources.size(); ++r) {
        const auto& known = planned.resources[r].calendar;
        if (!known) continue;
        auto& calendar = longer.resources[r].calendar;
        core::Calendar all = *known;
        if (!calendar) calendar = core::Calendar{{longer.horizon_start, longer.horizon_end}};
        for (const auto& w : *calendar) {
            const core::SimTime from = std::max(w.from, end);
            if (from >= w.to) continue;
            if (!all.empty() && all.back().to == from)
                all.back().to = w.to;
            else
                all.push_back({from, w.to});
        }
        calendar = std::move(all);
    }
}

}  // namespace sched::study
