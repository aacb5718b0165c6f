// The moment at which something is dry is known only when it comes: what is looked at then; worked
// out by hand. A screen of 60 units with share 1 dries 120 s alone at a clock of 1 / (1 + S)
// (drying_clock_test.cpp). All schedules also pass the checker.

#include "tests/engine/small_problem.hpp"

using namespace small_problem;

TEST_CASE("what is dry sooner than it is handled ends with the handling",
          "[engine][decoder][clock]") {
    Small s;
    const auto cabinet = s.cabinet(), person = s.resource();
    const auto dry = s.drying(cabinet, 60.0);
    const auto out = s.operation(5, {{.any_of = {person}}});
    s[dry].max_stretch = std::nullopt;
    s.before(dry, out, 0, 0);
    CHECK(s.decode() == Starts{0, 120});
    s[dry].modes[0].work = Seconds{200};
    CHECK(s.decode() == Starts{0, 200});
}

TEST_CASE("what dries longer than was said has no schedule", "[engine][decoder][clock]") {
    // Both starts are facts: it was out at 120, or at 119, when it could not be dry yet.
    for (const Tick out_at : {120, 119}) {
        Small s;
        const auto cabinet = s.cabinet(), person = s.resource();
        const auto dry = s.drying(cabinet, 60.0);
        const auto out = s.operation(5, {{.any_of = {person}}});
        s.before(dry, out, 0, 1000, Edge::WorkEnd);
        s.starts_at(dry, 0);
        s.starts_at(out, out_at);
        if (out_at == 120) {
            CHECK(s.decode() == Starts{0, 120});
        } else {
            CHECK(s.decode().empty());
            CHECK(s.why == Obstacle::Window);
        }
    }
}

TEST_CASE("what has begun to dry and cannot be dry in time has no schedule",
          "[engine][decoder][clock][begun]") {
    // In the cabinet since 0, planned at 50; dry at 120 and handled till 150.
    for (const auto& [handling, over] : {std::pair{0, 120}, std::pair{150, 150}}) {
        Small s;
        const auto dry = s.drying(s.cabinet(), 60.0);
        s[dry].modes[0].work = Seconds{handling};
        s.p.orders.push_back({.name = "A"});
        s.p.jobs.push_back({.name = "A-1", .order = OrderId{0}});
        s[dry].job = JobId{0};
        s.p.now = at(50);
        s.begun(dry, 0);
        Small horizon = s, deadline = s;
        horizon.p.horizon_end = at(over);
        deadline.p.orders[0].deadline = at(over);
        CHECK(horizon.decode() == Starts{0});
        CHECK(horizon.end == std::vector<Tick>{over});
        CHECK(deadline.decode() == Starts{0});
        horizon.p.horizon_end = at(over - 1);
        deadline.p.orders[0].deadline = at(over - 1);
        CHECK(horizon.decode().empty());
        CHECK(horizon.why == Obstacle::Horizon);
        CHECK(deadline.decode().empty());
        CHECK(deadline.why == Obstacle::Deadline);
    }
}

TEST_CASE("what is dry keeps its place until it is taken on", "[engine][decoder][clock]") {
    // Dry at 120; the exposure unit, which it goes to at once, is closed before 200. The next
    // screen has the cabinet from 200 on.
    Small s;
    const auto cabinet = s.cabinet(), unit = s.resource();
    s.p.resources[unit.index()].calendar = Calendar{{at(200), at(100'000)}};
    s.p.resources[unit.index()].batch = BatchArea{100, 60, 0, 2};
    const auto dry = s.drying(cabinet, 60.0);
    const auto expose = s.operation(10, {{.any_of = {unit}}});
    s[expose].batch = BatchShape{0, 50, 60};
    s[dry].max_stretch = std::nullopt;
    s.before(dry, expose, 0, 0);
    s.drying(cabinet, 60.0);
    CHECK(s.decode() == Starts{0, 200, 200});
    CHECK(s.end == std::vector<Tick>{200, 210, 320});
}

TEST_CASE("what follows within a block keeps its least distance when its forerunner waits",
          "[engine][decoder][max-lag]") {
    // a stands in its place until c begins; b begins when a has left it, and c when b is over: no
    // schedule can do that. c could begin any time, after b.
    Small s;
    const auto place = s.resource(), hand = s.resource(), bench = s.resource();
    const auto a =
        s.operation(10, {{.any_of = {place}}, {.any_of = {s.resource()}, .span = Span::Work}});
    const auto b = s.operation(10, {{.any_of = {hand}}});
    const auto c = s.operation(10, {{.any_of = {bench}}});
    s[a].max_stretch = std::nullopt;
    s.before(a, b);
    s.before(a, c, 0, 0);
    s.before(b, c, 0, 1000);
    CHECK(s.decode().empty());
    CHECK(s.why == Obstacle::Limits);
    // Begun when the work on a is over, b keeps a waiting for c.
    std::get<TimeLag>(s.p.constraints[0]).edge = Edge::WorkEnd;
    CHECK(s.decode() == Starts{0, 10, 20});
    CHECK(s.end == std::vector<Tick>{20, 20, 30});
}

TEST_CASE("who counts from the end of what stands open waits for it", "[engine][decoder][hold]") {
    // Nobody attends to a; it stays until c takes it on, at 50. b begins when it has left, not when
    // its work is over.
    Small s;
    const auto place = s.resource(), hand = s.resource(), bench = s.resource();
    const auto a = s.operation(10, {{.any_of = {place}}});
    const auto b = s.operation(10, {{.any_of = {hand}}});
    const auto c = s.operation(10, {{.any_of = {bench}}});
    s[a].max_stretch = std::nullopt;
    s.before(a, b);
    s.before(a, c, 0, 0);
    s.not_before(c, 50);
    CHECK(s.decode() == Starts{0, 50, 50});
    CHECK(s.end == std::vector<Tick>{50, 60, 60});
    // The same with what dries, 120 s.
    const auto cabinet = s.cabinet();
    s[a].modes[0] = {.needs = {{.any_of = {cabinet}}}, .stages = {{60.0, 1.0}}};
    s.p.constraints.back() = StartWindow{c, at(150), std::nullopt};
    CHECK(s.decode() == Starts{0, 150, 150});
}
