#pragma once
// Plans that are written down step by step, in the demo room without its orders and frames: its
// limits, stations and shifts can be read there. The day is a Thursday.

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "sched/check/room/judge.hpp"
#include "tests/room_judge/random_scenario.hpp"

namespace hand_made {

using model::FrameState;
using model::minutes;
using model::Scenario;
using model::Seconds;
using model::SimTime;
using sched::report::PlanDocument;

inline SimTime at(int hour, int minute, int second = 0) {
    return random_scenario::first_day() + minutes(60 * hour + minute) + Seconds{second};
}

inline Scenario demo_room() {
    model::Diagnostics diagnostics;
    Scenario s = *model::read_scenario(COATROOM_SOURCE "/scenarios/tomorrow", diagnostics);
    s.orders.clear();
    s.frames.clear();
    return s;
}

inline PlanDocument empty_plan() {
    PlanDocument d;
    d.run = {.from = at(0, 0), .until = at(47, 0), .first_start = at(6, 0), .last_end = at(17, 0)};
    return d;
}

struct Done {
    const char* step;
    SimTime from, to;
    const char* place = "";
    std::vector<std::string> people{};
    int round = 0;
    std::optional<int> batch{};
};

inline void add(PlanDocument& d, const std::string& screen, const std::vector<Done>& steps) {
    for (const Done& s : steps) {
        sched::report::OperationLine line{.screen = screen,
                                          .step = s.step,
                                          .round = s.round,
                                          .words = std::string(s.step) + " " + screen,
                                          .place = s.place,
                                          .people = s.people,
                                          .start = s.from,
                                          .work_end = s.to,
                                          .end = s.to,
                                          .batch = s.batch};
        if (!s.people.empty()) line.people_until = s.to;
        d.operations.push_back(line);
    }
    d.schedule.placements.resize(d.operations.size());
}

inline int saying(const PlanDocument& d, const Scenario& s, const std::string& words) {
    const auto found = sched::check::room::judge_room(d, s);
    return static_cast<int>(std::count_if(found.begin(), found.end(), [&](const auto& f) {
        return f.words.find(words) != std::string::npos;
    }));
}

inline const model::Area usual{model::Centimetres{58}, model::Centimetres{84}};

}  // namespace hand_made
