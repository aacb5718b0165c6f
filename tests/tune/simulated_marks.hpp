#pragma once
// Marks as a shop would make them, from simulated days whose truth is known: start and done of what
// people do, hung up, dry and out of what dries; some touched late in bunches, some forgotten.

#include <algorithm>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "model/room/past_mark.hpp"
#include "model/room/steps.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/schedule.hpp"
#include "sched/engine/draws.hpp"

namespace tune_tests {

struct Habits {
    double bunched = 0.0;  // share of a person's works that are touched with the next ones, late
    int in_a_bunch = 4;
    double forgotten = 0.0;  // share of done marks that nobody made
    double dry_seen = 1.0;   // share of drying screens whose dryness somebody marked at once
};

/// The second of a weekday `weeks` after the day of the schedule.
inline model::SimTime weeks_later(model::SimTime t, int weeks) {
    return t + std::chrono::hours{24 * 7 * weeks};
}

/// Marks of one simulated day. @param operations and problem's resources as `room` has them; a
/// schedule of its run.
inline std::vector<model::PastMark> marks_of_day(const sched::compile::RoomProblem& room,
                                                 const sched::core::Schedule& day, int weeks,
                                                 const Habits& habits, std::uint64_t seed) {
    using model::MarkKind;
    const sched::engine::Draws draws(seed, static_cast<std::uint64_t>(weeks));
    std::vector<model::PastMark> out;
    struct Touch {
        std::size_t mark;  // the done
        model::SimTime at;
    };
    std::map<std::string, std::vector<Touch>> by_person;
    const auto add = [&](MarkKind kind, model::SimTime at, const std::string& what,
                         model::Step step, int round, const std::string& station,
                         const std::string& person) {
        out.push_back({.at = weeks_later(at, weeks),
                       .mark = kind,
                       .what = what,
                       .step = step,
                       .round = round + 1,
                       .station = station,
                       .person = person,
                       .reason = {},
                       .by = {},
                       .device = person.empty() ? "room" : "of " + person,
                       .entered = {},
                       .id = {},
                       .undoes = {},
                       .place = {}});
    };
    for (std::size_t i = 0; i < day.placements.size() && i < room.operations.size(); ++i) {
        const auto& info = room.operations[i];
        const auto& p = day.placements[i];
        if (info.screen < 0) continue;
        const std::string& tag = room.screens[static_cast<std::size_t>(info.screen)].tag;
        std::string person, station;
        for (const auto id : p.chosen) {
            const auto& r = room.resources[id.index()];
            const std::string& name = room.problem.resources[id.index()].name;
            (r.kind == sched::compile::ResourceKind::Person ? person : station) = name;
        }
        const bool dries = model::dries_alone(info.step);
        const auto part = info.part;
        using model::route::Part;
        if (part == Part::Stand || part == Part::Run) continue;
        const auto key = [&](std::uint64_t k) {
            return draws.uniform({i, k, sched::engine::name_key("marks"), 0});
        };
        if (dries) {
            if (part == Part::Load) {
                add(MarkKind::Start, p.start, tag, info.step, info.round, station, person);
            } else {
                if (key(0) < habits.dry_seen)
                    add(MarkKind::Dry, p.work_end, tag, info.step, info.round, station, "");
                add(MarkKind::Done, p.end, tag, info.step, info.round, station, "");
            }
            continue;
        }
        if (person.empty()) continue;
        if (part != Part::Unload)
            add(MarkKind::Start, p.start, tag, info.step, info.round, station, person);
        if (part == Part::Load) continue;
        if (key(1) < habits.forgotten) continue;
        add(MarkKind::Done, p.work_end, tag, info.step, info.round, station, person);
        if (part == Part::Whole) by_person[person].push_back({out.size() - 1, p.work_end});
    }
    // Bunches: a person's done touches wait for the last of a few, then come seconds apart.
    for (auto& [person, touches] : by_person) {
        std::stable_sort(touches.begin(), touches.end(),
                         [](const Touch& a, const Touch& b) { return a.at < b.at; });
        const auto n = static_cast<std::size_t>(habits.in_a_bunch);
        for (std::size_t i = 0; i + n <= touches.size();) {
            const double u = draws.uniform(
                {i, 9, sched::engine::name_key("bunch"), sched::engine::name_key(person)});
            if (u >= habits.bunched / static_cast<double>(habits.in_a_bunch)) {
                ++i;
                continue;
            }
            const auto last = touches[i + n - 1].at;
            for (std::size_t k = 0; k < n; ++k)
                out[touches[i + k].mark].at =
                    weeks_later(last, weeks) + std::chrono::seconds{5 * static_cast<int>(k)};
            i += n;
        }
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const auto& a, const auto& b) { return a.at < b.at; });
    return out;
}

}  // namespace tune_tests
