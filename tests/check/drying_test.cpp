// The judge's own drying clock, on cases that a hand can work out.

#include "tests/catch.hpp"
#include "tests/check/cases.hpp"

using namespace check_tests;

namespace {

/// A cabinet of `slots` whose clock has the given steps.
Case with_cabinet(std::vector<RateStep> steps, int slots = 10) {
    Case c;
    c.resource("cabinet", slots);
    c.last_resource().shared = SharedRate{.steps = std::move(steps)};
    return c;
}

OperationId dry(Case& c, std::vector<DryStage> stages, std::int64_t start, std::int64_t end) {
    const auto id = c.operation(0, {need({0})}, start);
    c.operation(id).modes[0].stages = std::move(stages);
    c.placed(id).work_end = c.placed(id).end = at(end);
    return id;
}

/// The last placement's end is right, and 2 s earlier or later is not (1 s is rounding).
void exactly(Case c) {
    REQUIRE(c.sound());
    CHECK(c.rules().empty());
    for (const int by : {-2, 2}) {
        Case moved = c;
        moved.schedule.placements.back().work_end += Seconds{by};
        moved.schedule.placements.back().end += Seconds{by};
        CHECK(moved.rules() == Rules{Rule::Drying});
    }
}

}  // namespace

TEST_CASE("typed minutes: a clock of speed 1 is the wall clock", "[check][drying]") {
    Case c = with_cabinet({{.from = at(0)}});
    dry(c, {{.work = 1800.0}}, 100, 1900);
    exactly(c);
}

TEST_CASE("what is wet inside slows the clock", "[check][drying]") {
    // Share 1 each. Alone from 0: speed 1/2. From 100 with two: 1/3. First has 100 units: 50 by 100
    // s, 50 more take 150 s: dry at 250. Second: 50 units by 250, then alone 1/2: 50 more take 100
    // s: 350.
    Case c = with_cabinet({{.from = at(0)}});
    dry(c, {{.work = 100.0, .share = 1.0}}, 0, 250);
    dry(c, {{.work = 100.0, .share = 1.0}}, 100, 350);
    exactly(c);
    SECTION("standing there dry weighs nothing") {
        c.operation(OperationId{0}).max_stretch = std::nullopt;
        c.placed(OperationId{0}).end = at(5000);
        exactly(c);
    }
}

TEST_CASE("stages weigh differently", "[check][drying]") {
    // Stage 1: 60 units at share 2: speed 1/3: 180 s. Stage 2: 30 units at share 0.5: speed 2/3: 45
    // s.
    Case c = with_cabinet({{.from = at(0)}});
    dry(c,
        {{.work = 60.0, .share = 2.0}, {.work = 0.0, .share = 9.0}, {.work = 30.0, .share = 0.5}},
        0, 225);
    exactly(c);
}

TEST_CASE("heat supply caps the sum", "[check][drying]") {
    // Share 4, base 1: 1/5; cap 0.4: 0.4 / 4 = 0.1. 20 units: 200 s.
    Case c = with_cabinet({{.from = at(0), .base = 1.0, .cap = 0.4}});
    dry(c, {{.work = 20.0, .share = 4.0}}, 0, 200);
    exactly(c);
    SECTION("nothing weighs: no cap") {
        Case light = with_cabinet({{.from = at(0), .base = 1.0, .cap = 0.4}});
        dry(light, {{.work = 20.0}}, 0, 20);
        exactly(light);
    }
}

TEST_CASE("the driving force changes over the day", "[check][drying]") {
    // base 1 to 100, stands still to 300, then 2: 100 units by 100 s, 50 more take 25 s from 300.
    Case c = with_cabinet(
        {{.from = at(0)}, {.from = at(100), .base = 0.0}, {.from = at(300), .base = 2.0}});
    dry(c, {{.work = 150.0}}, 0, 325);
    exactly(c);
    SECTION("for ever") {
        Case still = with_cabinet({{.from = at(0)}, {.from = at(100), .base = 0.0}});
        dry(still, {{.work = 150.0}}, 0, 325);
        CHECK(still.rules() == Rules{Rule::Drying});
    }
}

TEST_CASE("the end is the first whole second", "[check][drying]") {
    // 100.3 units at speed 1: 101 s.
    Case c = with_cabinet({{.from = at(0)}});
    dry(c, {{.work = 100.3}}, 0, 101);
    exactly(c);
}

TEST_CASE("handling is a lower bound of drying", "[check][drying]") {
    Case c = with_cabinet({{.from = at(0)}});
    const auto a = dry(c, {{.work = 10.0}}, 0, 60);
    c.operation(a).modes[0].work = Seconds{60};
    exactly(c);
    c.placed(a).work_end = c.placed(a).end = at(59);
    CHECK(c.rules() == Rules{Rule::Drying});
}

TEST_CASE("two cabinets do not share air", "[check][drying]") {
    Case c = with_cabinet({{.from = at(0)}});
    c.resource("other cabinet", 10);
    c.last_resource().shared = SharedRate{.steps = {{.from = at(0)}}};
    dry(c, {{.work = 100.0, .share = 1.0}}, 0, 200);
    const auto b = dry(c, {{.work = 100.0, .share = 1.0}}, 0, 200);
    CHECK(c.rules() == Rules{Rule::Drying});
    c.operation(b).modes[0].needs[0].any_of = {ResourceId{1}};
    c.placed(b).chosen = {ResourceId{1}};
    exactly(c);
}

TEST_CASE("crowded air takes up more than the base would let it", "[check][drying]") {
    // Two of share 1: 1 / (1 + 2) by the base, 1.2 / (1 + 2) crowded. 400 units in 1000 s.
    Case c;
    c.resource("cabinet", 4);
    c.last_resource().shared =
        SharedRate{.steps = {{.from = at(0), .base = 1.0, .crowd = 1.2, .crowd_shift = 1.0}}};
    for (int i = 0; i < 2; ++i) {
        const auto id = c.operation(0, {need({0})}, 0);
        c.operation(id).modes[0].stages = {{.work = 400.0, .share = 1.0}};
        c.placed(id).work_end = c.placed(id).end = at(1000);
    }
    CHECK(c.rules().empty());
    c.problem.resources[0].shared->steps[0].crowd = 0.9;
    CHECK(c.rules() == Rules{Rule::Drying});
}
