// Decoding near a held run must give the schedule that decoding from the start gives, and a cutoff
// may only end runs that are worse than it says.

#include <algorithm>
#include <numeric>
#include <string>

#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched::engine;

namespace {

bool same_schedule(const FlatSchedule& a, const FlatSchedule& b) {
    return a.start == b.start && a.work_end == b.work_end && a.end == b.end && a.mode == b.mode &&
           a.chosen == b.chosen && a.stores == b.stores && a.batch == b.batch;
}

// Blocks in the order of their keys; keys become 0, 1, 2, ...
void rank_by(const CompiledProblem& p, std::vector<double>& key, Sequence& s) {
    std::vector<std::int32_t> order(key.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](std::int32_t a, std::int32_t b) {
        return key[static_cast<std::size_t>(a)] < key[static_cast<std::size_t>(b)];
    });
    s.rank.resize(p.operations.size());
    for (std::size_t k = 0; k < order.size(); ++k) {
        const auto b = static_cast<std::size_t>(order[k]);
        key[b] = static_cast<double>(k);
        for (const std::int32_t op : p.ops_of(p.blocks[b]))
            s.rank[static_cast<std::size_t>(op)] = static_cast<std::int32_t>(k);
    }
}

// One random change of what a sequence says.
// @param start of the held schedule; empty: none
void change(Sequence& s, std::vector<double>& key, const std::vector<Tick>& start,
            random_room::Draw& draw) {
    const std::size_t n = s.rank.size();
    const auto any = [&] { return static_cast<std::size_t>(draw.below(static_cast<int>(n))); };
    const auto block = [&] {
        return static_cast<std::size_t>(draw.below(static_cast<int>(key.size())));
    };
    switch (draw.below(12)) {
        case 0:
            if (s.delay.empty()) s.delay.assign(n, 0);
            s.delay[any()] = 60 * draw.below(20);
            break;
        case 1:
            if (s.choice.empty()) s.choice.assign(n, 0);
            s.choice[any()] = static_cast<std::uint8_t>(draw.below(3));
            break;
        case 2:
            if (s.join.empty()) s.join.assign(n, 0);
            s.join[any()] ^= 1;
            key[block()] += 1.5;
            break;
        case 3:
            // Numbers from the first operations: many of them cannot go together.
            if (s.waiting_batch.empty()) s.waiting_batch.assign(n, -1);
            for (int k = draw.below(4); k >= 0; --k)
                s.waiting_batch[any()] = draw.below(5) - 1;
            break;
        case 4:
            // As the held schedule has it, or anything.
            s.earliest = start;
            if (!start.empty() && draw.below(2) == 0)
                s.earliest[any()] += 60 * (draw.below(40) - 10);
            break;
        case 5:
        case 6:
            if (s.after.empty()) s.after.assign(n, -1);
            for (int k = draw.below(3); k >= 0; --k)
                s.after[any()] = draw.below(2 * static_cast<int>(n) + 1) - 1;
            break;
        default:
            for (int k = draw.below(3); k >= 0; --k)
                key[block()] +=
                    (draw.below(2001) - 1000) * 0.0003 * static_cast<double>(key.size());
    }
}

}  // namespace

TEST_CASE("decoding near a held run is decoding", "[engine][near]") {
    std::int64_t resumed = 0, repeated = 0, given_up = 0, whole_runs = 0;
    for (std::uint64_t seed = 1; seed <= 46; ++seed) {
        const random_room::Size size =
            seed <= 40 ? random_room::Size{}
                       : random_room::Size{.screens = 20, .plain = seed % 2 == 0};
        auto problem = random_room::make(seed, size);
        if (seed % 2 == 0) {  // some of it in overtime
            for (std::size_t r = 0; r < problem.resources.size(); ++r) {
                if (problem.resources[r].name != "person") continue;
                const auto& day = problem.resources[r].calendar->front();
                problem.overtime.push_back(
                    {sched::core::ResourceId{r}, {day.from + sched::core::Seconds{3600}, day.to}});
            }
            problem.objective.insert(problem.objective.begin(), sched::core::Criterion::Overtime);
        }
        REQUIRE(sched::core::validate(problem).empty());
        const CompiledProblem compiled(problem);
        Decoder near(compiled), whole(compiled);
        random_room::Draw draw(seed * 71);
        Sequence held;
        std::vector<double> key(compiled.blocks.size());
        for (double& k : key)
            k = draw.below(100'000);
        rank_by(compiled, key, held);
        std::vector<std::int64_t> value;
        std::vector<Tick> start;
        if (near.decode_near(held)) {
            value = near.value();
            near.hold();
            start = near.schedule().start;
        }
        for (int round = 0; round < 100; ++round) {
            Sequence next = held;
            auto next_key = key;
            change(next, next_key, start, draw);
            rank_by(compiled, next_key, next);
            Cutoff cutoff;
            cutoff.value = value;
            const bool cuts = !value.empty() && draw.below(2) == 0;
            const bool found = near.decode_near(next, cuts ? &cutoff : nullptr);
            const bool complete = whole.decode(next);
            INFO("seed " << seed << " round " << round);
            if (near.given_up()) {
                REQUIRE(cuts);
                CHECK((!complete || whole.value() > value));
                continue;
            }
            REQUIRE(found == complete);
            if (!found) continue;
            REQUIRE(same_schedule(near.schedule(), whole.schedule()));
            CHECK(near.value() == whole.value());
            CHECK(sched::core::evaluate(problem, to_schedule(compiled, whole.schedule())).parts ==
                  whole.value());
            if (draw.below(3) > 0) continue;
            value = near.value();
            near.hold();
            start = near.schedule().start;
            held = next;
            key = next_key;
        }
        resumed += near.counters().resumed;
        repeated += near.counters().repeated;
        given_up += near.counters().given_up;
        whole_runs += near.counters().whole;
    }
    INFO(resumed << " resumed, " << repeated << " repeated, " << given_up << " given up, "
                 << whole_runs << " whole");
    CHECK(resumed > 300);
    CHECK(repeated > 300);
    CHECK(given_up > 25);
}
