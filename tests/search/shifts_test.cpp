// Whole orders moved by an evolution strategy. Held against all orders of the orders, tried one by
// one: on one machine an order is ready with its last job, so its others lose nothing by going just
// before that one, and the best sequence keeps orders together.

#include <algorithm>
#include <numeric>

#include "sched/engine/decode/decoder.hpp"
#include "sched/search/room/shifts.hpp"
#include "tests/catch.hpp"

using namespace sched::core;
using namespace sched::search;

namespace {

struct Shop {
    std::vector<int> work, due, weight;  // per order: of each of its three jobs
};

Shop shop(std::uint64_t seed) {
    Rng rng(seed);
    Shop s;
    for (int o = 0; o < 7; ++o) {
        s.work.push_back(60 * (1 + rng.below(20)));
        s.due.push_back(60 * (30 + rng.below(150)));
        s.weight.push_back(1 + rng.below(4));
    }
    return s;
}

Problem problem_of(const Shop& s) {
    Problem p;
    p.name = "one machine";
    p.horizon_end = SimTime{Seconds{1'000'000}};
    p.resources = {{.name = "machine"}};
    p.objective = {Criterion::WeightedTardiness};
    for (std::size_t o = 0; o < s.work.size(); ++o) {
        p.orders.push_back({.name = "order",
                            .due = SimTime{Seconds{s.due[o]}},
                            .weight = static_cast<std::int64_t>(s.weight[o])});
    }
    // Jobs of the orders in turn, so that the rules' orders are mixed.
    for (int j = 0; j < 3; ++j) {
        for (std::size_t o = 0; o < s.work.size(); ++o) {
            p.jobs.push_back({.name = "job", .order = OrderId{o}});
            Operation work{.name = "work", .job = JobId{p.jobs.size() - 1}};
            work.modes = {Mode{.work = Seconds{s.work[o]}, .needs = {{.any_of = {ResourceId{0}}}}}};
            p.operations.push_back(work);
        }
    }
    return p;
}

std::int64_t best_of_all(const Shop& s) {
    std::vector<std::size_t> turn(s.work.size());
    std::iota(turn.begin(), turn.end(), std::size_t{0});
    std::int64_t best = -1;
    do {
        std::int64_t now = 0, cost = 0;
        for (const std::size_t o : turn) {
            now += 3 * s.work[o];
            cost += s.weight[o] * std::max<std::int64_t>(0, now - s.due[o]);
        }
        if (best < 0 || cost < best) best = cost;
    } while (std::next_permutation(turn.begin(), turn.end()));
    return best;
}

}  // namespace

TEST_CASE("whole orders are moved to where they are best", "[search][shifts]") {
    int reached = 0;
    for (std::uint64_t seed = 1; seed <= 10; ++seed) {
        const Shop s = shop(seed);
        const Problem problem = problem_of(s);
        REQUIRE(validate(problem).empty());
        const sched::engine::CompiledProblem compiled(problem);
        const RoomUnits units(compiled);
        sched::engine::Decoder decoder(compiled);
        std::vector<std::int32_t> turn;
        sched::engine::Sequence sequence;
        std::int64_t best = -1;
        int tried = 0;
        const auto decode = [&](RoomPoint& point, std::vector<std::int64_t>& value) {
            renumber(point, turn);
            to_sequence(compiled, point, turn, sequence);
            if (!decoder.decode(sequence)) return false;
            value = decoder.value();
            if (best < 0 || value.front() < best) best = value.front();
            ++tried;
            return true;
        };
        RoomPoint first;
        first.key.assign(compiled.blocks.size(), 0.0);
        std::vector<std::int64_t> value;
        REQUIRE(decode(first, value));
        const auto start = decoder.schedule();
        const std::int64_t before = value.front(), least = best_of_all(s);
        const Shifts shifts(compiled, units);
        REQUIRE(shifts.any());
        REQUIRE(shifts.population() == 1);
        shifts.run(first, start, 4, Rng(seed), decode, [&] { return tried >= 8000; });
        INFO("seed " << seed << ": " << before << " at first, " << best << " now, best " << least);
        CHECK(best >= least);
        CHECK(best <= least + (before - least) / 20);
        if (best == least) ++reached;
    }
    INFO(reached << " of 10 as good as can be");
    CHECK(reached >= 8);
}

TEST_CASE("a single order has nothing to be shifted against", "[search][shifts]") {
    Problem p = problem_of({{60}, {60}, {1}});
    const sched::engine::CompiledProblem compiled(p);
    const RoomUnits units(compiled);
    CHECK_FALSE(Shifts(compiled, units).any());
}
