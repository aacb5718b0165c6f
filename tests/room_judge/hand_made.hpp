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

inline model::Area area(double width, double height) {
    return {model::Centimetres{width}, model::Centimetres{height}};
}

// Screens of one order on one kind of frame, the plan not yet written.
struct Screens {
    Scenario room = demo_room();
    PlanDocument plan = empty_plan();

    explicit Screens(int count, model::Area frame = usual, const char* made_on = "ready") {
        room.orders = {{.name = "S",
                        .lines = {{.count = count,
                                   .mesh = "77-55",
                                   .frame = frame,
                                   .emulsion = "dual-cure A",
                                   .coat_plan = "2+2"}}}};
        for (int i = 1; i <= count; ++i)
            plan.screens.push_back({.tag = "S" + std::to_string(i),
                                    .order = "S",
                                    .number = i,
                                    .mesh = "77-55",
                                    .frame = "58 x 84 cm",
                                    .emulsion = "dual-cure A",
                                    .coat_plan = "2+2",
                                    .made_on = made_on});
    }
    model::Station& station(const std::string& name) {
        return *std::find_if(room.room.stations.begin(), room.room.stations.end(),
                             [&](const auto& s) { return s.name == name; });
    }
    /// One step of screen `number`, by minute of the day; its place is taken as long.
    sched::report::OperationLine& step(int number, const char* step, const char* place, int from,
                                       int to, std::optional<int> batch = {}) {
        add(plan, "S" + std::to_string(number),
            {{.step = step, .from = at(0, from), .to = at(0, to), .place = place, .batch = batch}});
        auto& line = plan.operations.back();
        line.places = 1;
        line.place_until = line.end;
        return line;
    }
    int saying(const std::string& words) const { return hand_made::saying(plan, room, words); }
};

}  // namespace hand_made
