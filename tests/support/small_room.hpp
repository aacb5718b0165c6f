#pragma once
// Rooms of 5 to 8 screens with a drying clock, small enough for an exhaustive referee. Seeded.
//
// A screen is coated, dries in the cabinet (two stages, the clock shared with what else is wet
// inside), and is exposed; in rooms of 5 or 6 screens half of them have a second drying after it.
// One stand, one unit, a cabinet of 2 to 4 slots, one or two people with a break. Due times after
// Potts and Van Wassenhove 1982 from the total work of the people.

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

#include "sched/core/problem.hpp"

namespace small_room {

inline sched::core::Problem make(std::uint64_t seed) {
    using namespace sched::core;
    std::uint64_t state = seed * 0x9E3779B97F4A7C15ULL + 77;
    const auto below = [&state](int n) {  // SplitMix64
        state += 0x9E3779B97F4A7C15ULL;
        std::uint64_t z = state;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
        z ^= z >> 31;
        return static_cast<int>((z >> 33) % static_cast<std::uint64_t>(n));
    };
    Problem p;
    p.name = "small room " + std::to_string(seed);
    p.horizon_end = p.horizon_start + Seconds{24 * 3600};
    const auto at = [&p](int s) { return p.horizon_start + Seconds{s}; };
    const auto resource = [&p](const char* name, int capacity) {
        p.resources.push_back({.name = name, .capacity = capacity});
        return ResourceId{p.resources.size() - 1};
    };
    const int screens = 5 + below(4);
    const bool twice = screens <= 6 && below(2) == 0;
    const auto stand = resource("stand", 1);
    const auto cabinet = resource("cabinet", 2 + below(3));
    const auto unit = resource("unit", 1);
    SharedRate rate;
    rate.steps.push_back({at(-3600), 1.0});
    if (below(2) == 0) {
        rate.steps[0].cap = 0.5 + 0.1 * below(4);
        rate.steps[0].cap_shift = 0.3;
    }
    if (below(3) == 0) {
        rate.steps.push_back(rate.steps[0]);
        rate.steps[1].from = at(5400);
        rate.steps[1].base = 0.8 + 0.1 * below(5);
    }
    p.resources[cabinet.index()].shared = rate;
    std::vector<ResourceId> people;
    const int crew = 1 + below(2);
    for (int k = 0; k < crew; ++k) {
        people.push_back(resource("person", 1));
        const int pause = 3600 + 600 * below(8);
        p.resources.back().calendar =
            Calendar{{at(0), at(pause)}, {at(pause + 900), at(24 * 3600)}};
    }
    const int orders = 3 + below(std::max(1, screens - 3));
    for (int k = 0; k < orders; ++k) {
        p.orders.push_back({.name = "order " + std::to_string(k + 1),
                            .release = at(below(3) == 0 ? 300 * below(6) : 0),
                            .weight = 1 + below(3)});
    }
    int work = 0;
    for (int k = 0; k < screens; ++k) {
        const JobId job{p.jobs.size()};
        p.jobs.push_back({.name = "screen " + std::to_string(k + 1),
                          .order = OrderId{static_cast<std::int32_t>(k % orders)}});
        OperationId last;
        const auto add = [&](const char* name, Mode mode, bool holds, bool held) {
            Operation o{.name = std::string(name) + " " + std::to_string(k + 1), .job = job};
            o.modes = {std::move(mode)};
            if (holds) o.max_stretch = std::nullopt;
            const OperationId id{p.operations.size()};
            p.operations.push_back(std::move(o));
            if (last.valid()) {
                TimeLag lag{.from = last, .to = id};
                if (held) lag.max = Seconds{0};
                p.constraints.push_back(lag);
            }
            last = id;
        };
        const auto attended = [&](ResourceId place, int seconds) {
            work += seconds;
            return Mode{.work = Seconds{seconds},
                        .needs = {{.any_of = {place}}, {.any_of = people, .span = Span::Work}}};
        };
        const auto drying = [&](int seconds) {
            const double share = 0.1 + 0.05 * below(7);
            return Mode{.needs = {{.any_of = {cabinet}}},
                        .stages = {{seconds * 0.7, share}, {seconds * 0.3, 0.4 * share}}};
        };
        add("coat", attended(stand, 180 + 30 * below(11)), true, false);
        add("dry the coat", drying(1200 + 60 * below(26)), true, true);
        add("expose", attended(unit, 180 + 30 * below(11)), twice, true);
        if (twice) {
            add("dry the stencil", drying(900 + 60 * below(16)), true, true);
            add("inspect", attended(stand, 120), false, true);
        }
    }
    const double all = 1800.0 + static_cast<double>(work) / crew;
    const double tightness = 0.3 + 0.2 * below(3), range = below(2) == 0 ? 0.4 : 0.8;
    for (auto& order : p.orders) {
        const double share = 1.0 - tightness + range * (below(10'000) / 10'000.0 - 0.5);
        order.due = at(static_cast<int>(std::max(0.1, share) * all) / 60 * 60);
    }
    p.objective = {Criterion::WeightedTardiness};
    return p;
}

}  // namespace small_room
