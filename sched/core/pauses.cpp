#include "sched/core/pauses.hpp"

#include <algorithm>

#include "sched/core/calendar.hpp"

namespace sched::core {

namespace {

Window hole_of(const Pause& pause) {
    return {pause.at, pause.at + pause.length};
}

void open_pause(Problem& problem, std::size_t index) {
    const Pause& pause = problem.pauses[index];
    auto& calendar = problem.resources[pause.resource.index()].calendar;
    if (!calendar || pause.length <= Seconds{0}) return;
    open_window(*calendar, hole_of(pause));
    for (std::size_t k = 0; k < problem.pauses.size(); ++k) {
        const Pause& other = problem.pauses[k];
        if (k != index && other.resource == pause.resource && meet(hole_of(other), hole_of(pause)))
            close_window(*calendar, hole_of(other));
    }
}

}  // namespace

void move_pause(Problem& problem, std::size_t index, SimTime at) {
    open_pause(problem, index);
    Pause& pause = problem.pauses[index];
    pause.at = at;
    auto& calendar = problem.resources[pause.resource.index()].calendar;
    if (calendar) close_window(*calendar, hole_of(pause));
}

bool pause_fits(const Problem& problem, std::size_t index, SimTime at) {
    const Pause& pause = problem.pauses[index];
    if (at < pause.earliest || at > pause.latest) return false;
    for (std::size_t k = 0; k < problem.pauses.size(); ++k) {
        const Pause& other = problem.pauses[k];
        if (k != index && other.resource == pause.resource &&
            meet(hole_of(other), {at, at + pause.length}))
            return false;
    }
    return true;
}

void place_pauses(Problem& problem, const std::vector<Pause>& places) {
    std::vector<std::optional<SimTime>> wanted(problem.pauses.size());
    for (const Pause& place : places) {
        for (std::size_t k = 0; k < problem.pauses.size(); ++k) {
            Pause like = problem.pauses[k];
            like.at = place.at;
            if (like == place) wanted[k] = place.at;
        }
    }
    // Two that exchange their places fit together, though neither does where the other still is:
    // whoever fits goes; if nobody does any more, the rest go together or not at all.
    const auto move_all = [&](Problem& p) {
        bool moved = true;
        while (moved) {
            moved = false;
            for (std::size_t k = 0; k < p.pauses.size(); ++k) {
                if (!wanted[k] || p.pauses[k].at == *wanted[k]) continue;
                if (!pause_fits(p, k, *wanted[k])) continue;
                move_pause(p, k, *wanted[k]);
                moved = true;
            }
        }
    };
    move_all(problem);
    Problem together = problem;
    bool changed = false;
    for (std::size_t k = 0; k < together.pauses.size(); ++k) {
        const Pause& p = together.pauses[k];
        if (!wanted[k] || p.at == *wanted[k]) continue;
        if (*wanted[k] < p.earliest || *wanted[k] > p.latest) continue;
        move_pause(together, k, *wanted[k]);
        changed = true;
    }
    if (!changed) return;
    for (std::size_t k = 0; k < together.pauses.size(); ++k) {
        if (!pause_fits(together, k, together.pauses[k].at)) return;
    }
    problem = std::move(together);
}

void shift_pauses(Problem& problem, int part, int parts) {
    for (std::size_t k = 0; k < problem.pauses.size(); ++k) {
        const Pause& p = problem.pauses[k];
        const SimTime at =
            p.earliest + model::minutes((p.latest - p.earliest).count() * part / parts / 60);
        if (pause_fits(problem, k, at)) move_pause(problem, k, at);
    }
}

Problem without_movable_pauses(Problem problem) {
    for (std::size_t k = 0; k < problem.pauses.size(); ++k) {
        if (problem.pauses[k].earliest < problem.pauses[k].latest) open_pause(problem, k);
    }
    std::erase_if(problem.pauses, [](const Pause& p) { return p.earliest < p.latest; });
    return problem;
}

}  // namespace sched::core
