#pragma once
// Random rooms with a plan each, followed with the planned lengths; for tests and for the count of
// a thousand (tests/bench).

#include <numeric>
#include <string>

#include "sched/engine/decode/decoder.hpp"
#include "tests/engine/random_room.hpp"

namespace follow_rooms {

struct Tally {
    int plans = 0, runs = 0, same = 0;
    std::string first;  // difference, in words
};

/// Three plans of the room of this seed, each followed in three ways.
inline void compare(std::uint64_t seed, Tally& tally) {
    using namespace sched::engine;
    const auto problem = random_room::make(seed);
    const CompiledProblem compiled(problem);
    Decoder decoder(compiled);
    random_room::Draw draw(seed * 977);
    const std::size_t n = problem.operations.size();
    for (int round = 0; round < 3; ++round) {
        Sequence s;
        s.rank.resize(n);
        for (auto& r : s.rank)
            r = draw.below(1000);
        if (round >= 1) {
            s.delay.resize(n);
            for (auto& d : s.delay)
                d = draw.below(4) == 0 ? draw.below(1200) : 0;
            s.choice.resize(n);
            for (auto& c : s.choice)
                c = static_cast<std::uint8_t>(draw.below(3));
        }
        if (round == 2) s.lookahead = draw.below(2) == 0 ? 600 : never;
        if (!decoder.decode(s)) continue;
        ++tally.plans;
        const auto plan = decoder.to_schedule();
        const Agreements agreements(compiled, plan);
        std::vector<std::int32_t> place(n);
        std::iota(place.begin(), place.end(), 0);
        for (const Recourse how : {Recourse::Free, Recourse::Order, Recourse::Times}) {
            Baseline baseline;
            baseline.set(compiled, agreements, place, how);
            Sequence follow;
            follow.rank = agreements.rank();
            follow.lookahead = 0;
            follow.keeps_turn = true;
            follow.baseline = &baseline;
            ++tally.runs;
            if (!decoder.decode(follow)) {
                if (tally.first.empty())
                    tally.first = "seed " + std::to_string(seed) + " round " +
                                  std::to_string(round) + ": " + words(decoder.failure().why);
                continue;
            }
            const auto simulated = decoder.to_schedule();
            std::size_t first = n;
            for (std::size_t i = 0; i < n; ++i) {
                auto a = plan.placements[i], b = simulated.placements[i];
                a.batch = b.batch = std::nullopt;  // their numbers are by order of booking
                if (a == b) continue;
                if (first == n || a.start < plan.placements[first].start) first = i;
            }
            if (first == n) {
                ++tally.same;
            } else if (tally.first.empty()) {
                const auto &a = plan.placements[first], &b = simulated.placements[first];
                const auto t = [](sched::core::SimTime x) {
                    return std::to_string(x.time_since_epoch().count());
                };
                tally.first = "seed " + std::to_string(seed) + " round " + std::to_string(round) +
                              " recourse " + std::to_string(static_cast<int>(how)) + " " +
                              problem.operations[first].name + " #" + std::to_string(first) + ": " +
                              t(a.start) + "-" + t(a.work_end) + "-" + t(a.end) + " on " +
                              std::to_string(a.chosen.empty() ? -1 : a.chosen[0].value) + ", but " +
                              t(b.start) + "-" + t(b.work_end) + "-" + t(b.end) + " on " +
                              std::to_string(b.chosen.empty() ? -1 : b.chosen[0].value);
            }
        }
    }
}

}  // namespace follow_rooms
