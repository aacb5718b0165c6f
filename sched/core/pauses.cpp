#include "sched/core/pauses.hpp"

#include <algorithm>

namespace sched::core {

namespace {

Window hole_of(const Pause& pause) {
    return {pause.at, pause.at + pause.length};
}

bool meet(const Window& a, const Window& b) {
    return a.from < b.to && b.from < a.to;
}

void open_window(Calendar& calendar, Window window) {
    calendar.push_back(window);
    std::sort(calendar.begin(), calendar.end(),
              [](const Window& a, const Window& b) { return a.from < b.from; });
    Calendar merged;
    for (const Window& w : calendar) {
        if (!merged.empty() && w.from <= merged.back().to) {
            merged.back().to = std::max(merged.back().to, w.to);
        } else {
            merged.push_back(w);
        }
    }
    calendar = std::move(merged);
}

void close_window(Calendar& calendar, Window hole) {
    Calendar rest;
    for (const Window& w : calendar) {
        if (!meet(w, hole)) {
            rest.push_back(w);
            continue;
        }
        if (w.from < hole.from) rest.push_back({w.from, hole.from});
        if (hole.to < w.to) rest.push_back({hole.to, w.to});
    }
    calendar = std::move(rest);
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
    for (const Pause& place : places) {
        for (std::size_t k = 0; k < problem.pauses.size(); ++k) {
            Pause like = problem.pauses[k];
            like.at = place.at;
            if (like == place && pause_fits(problem, k, place.at)) move_pause(problem, k, place.at);
        }
    }
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
