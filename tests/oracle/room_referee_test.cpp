// The exhaustive referee of small rooms with a drying clock: its schedules judged, then the room
// search against it.

#include "tests/oracle/room_referee.hpp"
#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/support/small_room.hpp"

using namespace sched;
using namespace sched::core;

namespace {

constexpr std::int64_t kAny = 1LL << 40;

}  // namespace

TEST_CASE("the referee's schedules are right, and it finds nothing better than itself",
          "[referee][property]") {
    for (const std::uint64_t seed : {2, 5, 10, 14, 16}) {
        const auto p = small_room::make(seed);
        INFO(p.name);
        const auto best = oracle::best_of_room(p, kAny, 2'000'000);
        REQUIRE(best.finished);
        REQUIRE(best.schedule);
        for (const auto& v : check::check(p, *best.schedule))
            FAIL(v.words);
        CHECK(evaluate(p, *best.schedule).parts[0] == best.value);
        const auto again = oracle::best_of_room(p, best.value, 2'000'000);
        CHECK(again.finished);
        CHECK_FALSE(again.schedule);
    }
}

TEST_CASE("the room search is near the referee on small rooms with a drying clock",
          "[referee][search]") {
    // Six of the hundred of docs/benchmarks.md, 20,000 schedules each. Where the search is below
    // what the referee looks at (starts between events), nothing better is found.
    std::int64_t found = 0, best = 0;
    for (const std::uint64_t seed : {2, 7, 8, 10, 13, 14}) {
        const auto p = small_room::make(seed);
        INFO(p.name);
        search::SearchOptions options;
        options.budget.evaluations = 20'000;
        const auto s = search::solve(p, options);
        REQUIRE(s.schedule);
        CHECK(check::check(p, *s.schedule).empty());
        CHECK(evaluate(p, *s.schedule) == s.value);
        CHECK(s.bound.parts[0] <= s.value.parts[0]);
        const auto least = oracle::best_of_room(p, s.value.parts[0], 2'000'000);
        REQUIRE(least.finished);
        CHECK(s.bound.parts[0] <= least.value);
        CHECK(static_cast<double>(s.value.parts[0]) <= 1.05 * static_cast<double>(least.value));
        found += s.value.parts[0];
        best += least.value;
    }
    CHECK(static_cast<double>(found) <= 1.02 * static_cast<double>(best));
}

namespace {

/// The referee finds nothing better than the search, which has 60,000 schedules.
void best_is_found(std::uint64_t seed) {
    const auto p = small_room::make(seed);
    INFO(p.name);
    search::SearchOptions options;
    options.budget.evaluations = 60'000;
    const auto s = search::solve(p, options);
    REQUIRE(s.schedule);
    CHECK(check::check(p, *s.schedule).empty());
    const auto least = oracle::best_of_room(p, s.value.parts[0], 2'000'000);
    REQUIRE(least.finished);
    CHECK_FALSE(least.schedule);
}

}  // namespace

TEST_CASE("steps in between, shared parts and waits for each other lead to the best",
          "[referee][search]") {
    // Before, the search ended 9.1 and 2.9 % above the best of these, also at 100,000 schedules: of
    // the first the decoder could not say it, to that of the second no move led.
    for (const std::uint64_t seed : {6, 38271605})
        best_is_found(seed);
}

TEST_CASE("of what is near the best plan of a small room nothing is left untried",
          "[referee][search]") {
    // Annealing alone ends 0.1 and 0.5 % above the best of these two.
    for (const std::uint64_t seed : {16, 17})
        best_is_found(seed);
}
