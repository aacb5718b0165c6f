#pragma once
// Rooms of 5 to 200 screens for measuring the search: drawn by tests/engine/random_room.hpp, then
// grown to their number of screens and given due times.
//
// Parameters, all from the seed: screens log-uniform in 5..200; for every 12 screens begun the room
// has as many of each place, as many people of each shift and as large a cabinet; due times after
// Potts and Van Wassenhove 1982: uniform in C (1 - TF ± RDD / 2), C the time that the earliest-due
// rule needs for all, TF in {0.3, 0.5, 0.7}, RDD in {0.4, 0.8}; weights 1 to 3.

#include <algorithm>
#include <cmath>
#include <optional>

#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "tests/engine/random_room.hpp"

namespace random_rooms {

struct Room {
    sched::core::Problem problem;
    int screens = 0;
    double tightness = 0.0;
    double range = 0.0;
};

/// @returns nullopt if no rule finds a schedule, so that no due times can be set.
/// @param screens so many instead of those drawn; 0: as drawn.
inline std::optional<Room> make(std::uint64_t seed, int screens = 0) {
    using namespace sched::core;
    random_room::Draw d(seed * 7919 + 13);
    Room room;
    const double u = d.below(10'000) / 10'000.0;
    room.screens = static_cast<int>(std::lround(5.0 * std::pow(40.0, u)));
    if (screens > 0) room.screens = screens;
    room.tightness = 0.3 + 0.2 * d.below(3);
    room.range = d.below(2) == 0 ? 0.4 : 0.8;
    room.problem = random_room::make(seed, {.screens = room.screens});
    Problem& p = room.problem;
    p.name = "random room " + std::to_string(seed);
    const int times = (room.screens + 11) / 12;
    for (auto& r : p.resources)
        r.capacity *= times;
    for (auto& s : p.stores)
        s.initial *= times;
    for (auto& c : p.constraints) {
        if (auto* give = std::get_if<Give>(&c)) give->amount *= times;
    }
    for (auto& o : p.operations) {
        for (auto& m : o.modes) {
            for (auto& s : m.stages)
                s.share /= times;
        }
    }
    const sched::engine::CompiledProblem compiled(p);
    const auto views = sched::engine::rule_views(compiled);
    sched::engine::Decoder decoder(compiled);
    for (const auto& rule : sched::engine::rules()) {
        if (!decoder.decode(sched::engine::rule_sequence(compiled, views, rule))) continue;
        const double all = static_cast<double>(decoder.value()[1]);  // finish
        for (auto& order : p.orders) {
            const double at =
                1.0 - room.tightness + room.range * (d.below(10'000) / 10'000.0 - 0.5);
            order.due =
                p.horizon_start + Seconds{static_cast<std::int64_t>(std::max(0.05, at) * all)};
        }
        return room;
    }
    return std::nullopt;
}

}  // namespace random_rooms
