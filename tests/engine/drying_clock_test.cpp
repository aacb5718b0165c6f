#include "sched/engine/drying_clock.hpp"

#include "tests/catch.hpp"

using namespace sched::engine;
using Stage = DryingClock::Stage;
using Step = DryingClock::Step;

namespace {

std::vector<std::pair<std::uint32_t, Tick>> run_dry(DryingClock& clock) {
    while (const auto t = clock.next_change())
        clock.advance(*t);
    std::vector<std::pair<std::uint32_t, Tick>> out;
    for (const auto& d : clock.dry())
        out.emplace_back(d.who, d.at);
    return out;
}

}  // namespace

TEST_CASE("n equal wet screens dry n + 1 times as long as an empty cabinet would take",
          "[engine][clock]") {
    // base 1, share 1 each: rate 1 / (1 + n); work 60 -> 60 (n + 1). Closed form of processor
    // sharing with one permanent customer (Kleinrock, Queueing Systems vol. 2, ch. 4: rate 1 /
    // number present).
    const std::vector<Step> steps{{0, 1.0, -1.0}};
    const std::vector<Stage> stage{{60.0, 1.0}};
    for (std::uint32_t n = 1; n <= 12; ++n) {
        DryingClock clock(steps);
        clock.reset(0);
        for (std::uint32_t i = 0; i < n; ++i)
            clock.enter(i, stage);
        const auto dry = run_dry(clock);
        REQUIRE(dry.size() == n);
        for (const auto& d : dry)
            CHECK(d.second == static_cast<Tick>(60 * (n + 1)));
    }
}

TEST_CASE("a second screen slows the first only while both are wet", "[engine][clock]") {
    // A (work 60) alone from 0: rate 1/2. B enters at 60: A has 60 - 30 = 30 left, rate 1/3: A dry
    // at 60 + 90 = 150. B did 30 of its 60 by then; alone again at rate 1/2: dry at 150 + 60 = 210.
    const std::vector<Step> steps{{0, 1.0, -1.0}};
    const std::vector<Stage> stage{{60.0, 1.0}};
    DryingClock clock(steps);
    clock.reset(0);
    clock.enter(0, stage);
    clock.advance(60);
    clock.enter(1, stage);
    const auto dry = run_dry(clock);
    REQUIRE(dry.size() == 2);
    CHECK(dry[0] == std::pair<std::uint32_t, Tick>{0, 150});
    CHECK(dry[1] == std::pair<std::uint32_t, Tick>{1, 210});
}

TEST_CASE("the heat cap, a climate step and a falling stage set the speed", "[engine][clock]") {
    SECTION("cap: min(1/(1+2), 0.5/2) = 0.25, work 10 -> 40 s") {
        const std::vector<Step> steps{{0, 1.0, 0.5}};
        const std::vector<Stage> stage{{10.0, 1.0}};
        DryingClock clock(steps);
        clock.reset(0);
        clock.enter(0, stage);
        clock.enter(1, stage);
        CHECK(run_dry(clock)[0].second == 40);
    }
    SECTION("no share: 100 s at base 1 do 100 of 130, base 0.5 from then on does 30 in 60 s") {
        const std::vector<Step> steps{{0, 1.0, -1.0}, {100, 0.5, -1.0}};
        const std::vector<Stage> stage{{130.0, 0.0}};
        DryingClock clock(steps);
        clock.reset(0);
        clock.enter(7, stage);
        CHECK(run_dry(clock)[0].second == 160);
        CHECK(round_up_ticks(*drying_span(steps, stage, 0, 0.0)) == 160);
    }
    SECTION("stages: share 1 for work 10 (20 s), share 0.5 for work 10 (15 s)") {
        const std::vector<Step> steps{{0, 1.0, -1.0}};
        const std::vector<Stage> stage{{10.0, 1.0}, {10.0, 0.5}};
        DryingClock clock(steps);
        clock.reset(1000);
        clock.enter(0, stage);
        CHECK(run_dry(clock)[0].second == 1035);
        CHECK(clock.load() == 0.0);
    }
    SECTION("a stage that ends between whole seconds is exact, the dry time rounds up") {
        // 3 works at rate 1/2 -> 6 s; 1 at rate 1/(1+0.1) -> 1.1 s: 7.1 s, so 8.
        const std::vector<Step> steps{{0, 1.0, -1.0}};
        const std::vector<Stage> stage{{3.0, 1.0}, {1.0, 0.1}};
        DryingClock clock(steps);
        clock.reset(0);
        clock.enter(0, stage);
        CHECK(run_dry(clock)[0].second == 8);
    }
    SECTION("stands still: base 0 for ever never dries") {
        const std::vector<Step> steps{{0, 0.0, -1.0}};
        const std::vector<Stage> stage{{1.0, 0.0}};
        DryingClock clock(steps);
        clock.reset(0);
        clock.enter(0, stage);
        CHECK_FALSE(clock.next_change().has_value());
        CHECK_FALSE(drying_span(steps, stage, 0, 0.0).has_value());
    }
}

TEST_CASE("processor sharing is the clock with a cap of one", "[engine][clock]") {
    // Rate 1/n each (base out of the way): jobs 1, 2, 3 at time 0 end at 3, 5, 6 (in units of 100
    // s).
    const std::vector<Step> steps{{0, 1e9, 1.0}};
    const std::vector<Stage> a{{100.0, 1.0}}, b{{200.0, 1.0}}, c{{300.0, 1.0}};
    DryingClock clock(steps);
    clock.reset(0);
    clock.enter(0, a);
    clock.enter(1, b);
    clock.enter(2, c);
    const auto dry = run_dry(clock);
    REQUIRE(dry.size() == 3);
    CHECK(dry[0].second == 300);
    CHECK(dry[1].second == 500);
    CHECK(dry[2].second == 600);
}

TEST_CASE("a crowd in damp air dries faster than the share of each says", "[engine][clock]") {
    // max(1 / (1 + S), 2 / (4 + S)): the second is larger from S = 2 on. One screen of 60: 1 / 2
    // against 2 / 5, 120 s. Four: 1 / 5 against 2 / 8, 240 s instead of 300.
    const std::vector<Step> steps{{.crowd = 2.0, .crowd_shift = 4.0}};
    const std::vector<Stage> stage{{60.0, 1.0}};
    for (const auto& [screens, length] : {std::pair{1u, Tick{120}}, std::pair{4u, Tick{240}}}) {
        DryingClock clock(steps);
        clock.reset(0);
        for (std::uint32_t i = 0; i < screens; ++i)
            clock.enter(i, stage);
        const auto dry = run_dry(clock);
        REQUIRE(dry.size() == screens);
        for (const auto& d : dry)
            CHECK(d.second == length);
        CHECK(round_up_ticks(*drying_span(steps, stage, 0, screens - 1.0)) == length);
    }
}
