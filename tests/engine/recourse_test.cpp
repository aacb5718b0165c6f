// How long a plan binds on a day that differs from it, from what baseline.hpp says of each way to
// follow it; worked out by hand. All schedules also pass the checker.

#include <numeric>

#include "sched/engine/baseline.hpp"
#include "tests/engine/small_problem.hpp"

using namespace small_problem;
using sched::engine::Agreements;
using sched::engine::Baseline;
using sched::engine::Recourse;

namespace {

/// The plan is what the decoder makes of `planned`; `day` has the same operations.
Starts simulate(const Small& planned, Small& day, Recourse how) {
    const CompiledProblem compiled(planned.p);
    Decoder planner(compiled);
    REQUIRE(planner.decode({}));
    const Agreements agreements(compiled, planner.to_schedule());
    std::vector<std::int32_t> place(planned.p.operations.size());
    std::iota(place.begin(), place.end(), 0);
    Baseline baseline;
    baseline.set(CompiledProblem(day.p), agreements, place, how);
    Sequence follow;
    follow.rank = agreements.rank();
    follow.lookahead = 0;
    follow.keeps_turn = true;
    follow.baseline = &baseline;
    return day.decode(follow);
}

}  // namespace

TEST_CASE("what is waited for is over sooner", "[engine][follow]") {
    // The same person does 100 s of work and then 50 s, planned at 0 and 100. On the day the first
    // takes 60 s.
    Small s;
    const auto person = s.resource();
    const auto first = s.operation(100, {{.any_of = {person}}});
    s.operation(50, {{.any_of = {person}}});
    CHECK(s.decode() == Starts{0, 100});
    Small day = s;
    day[first].modes[0].work = Seconds{60};
    CHECK(simulate(s, day, Recourse::Free) == Starts{0, 60});
    CHECK(simulate(s, day, Recourse::Order) == Starts{0, 60});
    CHECK(simulate(s, day, Recourse::Times) == Starts{0, 100});
}

TEST_CASE("what is waited for does not begin", "[engine][follow]") {
    // The same plan; on the day the first cannot begin before 300. That is known at 1.
    Small s;
    const auto person = s.resource();
    const auto first = s.operation(100, {{.any_of = {person}}});
    s.operation(50, {{.any_of = {person}}});
    Small day = s;
    day.not_before(first, 300);
    CHECK(simulate(s, day, Recourse::Free) == Starts{300, 1});
    CHECK(simulate(s, day, Recourse::Order) == Starts{300, 400});
    CHECK(simulate(s, day, Recourse::Times) == Starts{300, 100});
}

TEST_CASE("where the plan's order is kept nothing begins sooner for want of its forerunner",
          "[engine][follow]") {
    // A pot is mixed in 100 s, and then a screen coated from it, planned at 100. On the day nobody
    // can mix before 300, but another pot is full.
    Small s;
    const auto person = s.resource(), bench = s.resource();
    for (const char* pot : {"mixed", "other"})
        s.p.stores.push_back({.name = pot});
    const auto mix = s.operation(100, {{.any_of = {person}}});
    const auto coat = s.operation(20, {{.any_of = {bench}}});
    s.p.constraints.push_back(Give{mix, StoreId{0}, 10});
    s.p.constraints.push_back(Take{coat, {StoreId{0}, StoreId{1}}, 5});
    CHECK(s.decode() == Starts{0, 100});
    Small day = s;
    day.not_before(mix, 300);
    day.p.stores[1].initial = 10;
    CHECK(simulate(s, day, Recourse::Free) == Starts{300, 1});
    CHECK(simulate(s, day, Recourse::Order) == Starts{300, 100});
    CHECK(simulate(s, day, Recourse::Times) == Starts{300, 100});
}

TEST_CASE("who shares an exposure takes nothing from a pot that is not mixed yet",
          "[engine][follow]") {
    // Two screens wait from 0 on (10 s), are coated at 150 from a pot that is mixed from 50 to 150,
    // and are exposed together at 170. On the day nobody can mix before 300, which is known at 51,
    // when both coats are booked and neither can be booked again without the other's exposure.
    Small s;
    const auto person = s.resource(), unit = s.resource();
    s.p.resources.back().batch = BatchArea{100, 60, 0, 2};
    s.p.stores.push_back({.name = "pot"});
    const auto mix = s.operation(100, {{.any_of = {person}}});
    s.p.constraints.push_back(Give{mix, StoreId{0}, 10});
    s.not_before(mix, 50);
    for (int screen = 0; screen < 2; ++screen) {
        const auto wait = s.operation(10, {{.any_of = {s.resource()}}});
        const auto coat = s.operation(20, {{.any_of = {s.resource()}}});
        const auto expose = s.operation(30, {{.any_of = {unit}}});
        s[expose].batch = BatchShape{0, 50, 60};
        s.before(wait, coat, 0, 1000);
        s.before(coat, expose, 0, 0);
        s.p.constraints.push_back(Take{coat, {StoreId{0}}, 5});
    }
    CHECK(s.decode() == Starts{50, 0, 150, 170, 0, 150, 170});
    Small day = s;
    day.not_before(mix, 300);
    CHECK(simulate(s, day, Recourse::Order) == Starts{});
    CHECK(day.why == Obstacle::Limits);
    CHECK(simulate(s, s, Recourse::Order) == Starts{50, 0, 150, 170, 0, 150, 170});
}

TEST_CASE("a pot that is mixed longer than planned is waited for, with all else booked",
          "[engine][follow]") {
    // The screen waits from 0 on and is coated at 150, when its pot is mixed: from 50 to 150. On
    // the day mixing takes 60 s more. From 50 on everything is booked; at 150 it shows.
    Small s;
    s.p.stores.push_back({.name = "pot"});
    const auto mix = s.operation(100, {{.any_of = {s.resource()}}});
    s.p.constraints.push_back(Give{mix, StoreId{0}, 10});
    s.not_before(mix, 50);
    const auto wait = s.operation(10, {{.any_of = {s.resource()}}});
    const auto coat = s.operation(20, {{.any_of = {s.resource()}}});
    s.before(wait, coat, 0, 1000);
    s.p.constraints.push_back(Take{coat, {StoreId{0}}, 5});
    CHECK(s.decode() == Starts{50, 0, 150});
    Small day = s;
    day[mix].modes[0].work = Seconds{160};
    for (const Recourse how : {Recourse::Free, Recourse::Order, Recourse::Times})
        CHECK(simulate(s, day, how) == Starts{50, 0, 210});
}

TEST_CASE("a pot is taken from sooner than planned only if it is ready", "[engine][follow]") {
    // The screen waits from 0 to 150 and is coated within 10 s of that. On the day it waits for
    // 120 s only, so by the plan's way it is coated at 130, which is known at 0: all of the block
    // is booked then.
    const auto simulate_with = [](Tick ready, Tick mixed_from) {
        Small s;
        s.p.stores.push_back({.name = "pot", .initial = ready > 0 ? 10 : 0});
        if (ready > 0) s.p.stores[0].from = at(ready);
        const auto wait = s.operation(150, {{.any_of = {s.resource()}}});
        const auto coat = s.operation(20, {{.any_of = {s.resource()}}});
        s.before(wait, coat, 0, 10);
        s.p.constraints.push_back(Take{coat, {StoreId{0}}, 5});
        if (ready == 0) {
            const auto mix = s.operation(100, {{.any_of = {s.resource()}}});
            s.p.constraints.push_back(Give{mix, StoreId{0}, 10});
            s.not_before(mix, mixed_from);
        }
        CHECK(s.decode().at(1) == 150);
        Small day = s;
        day[wait].modes[0].work = Seconds{120};
        std::vector<Starts> found;
        for (const Recourse how : {Recourse::Free, Recourse::Order, Recourse::Times}) {
            found.push_back(simulate(s, day, how));
            found.back().resize(2);
        }
        return found;
    };
    const auto always = [](Tick wait, Tick coat) {
        return std::vector<Starts>(3, Starts{wait, coat});
    };
    CHECK(simulate_with(1, 0) == always(0, 130));
    CHECK(simulate_with(140, 0) == always(10, 140));
    CHECK(simulate_with(0, 45) == always(45, 165));
}

TEST_CASE("inside a block nothing takes its place before what goes before it", "[engine][follow]") {
    // A screen goes over a bench (100 s) to a press (50 s), another one over a table (150 s) to the
    // same press (10 s), there within 100 s. By the plan the first begins at 0 and has the press at
    // 100, the second begins at 20 and has it at 170.
    Small s;
    const auto press = s.resource();
    const auto bench = s.operation(100, {{.any_of = {s.resource()}}});
    const auto first = s.operation(50, {{.any_of = {press}}});
    const auto table = s.operation(150, {{.any_of = {s.resource()}}});
    const auto second = s.operation(10, {{.any_of = {press}}});
    s.before(bench, first, 0, 1000);
    s.before(table, second, 0, 100);
    s.not_before(table, 20);
    CHECK(s.decode() == Starts{0, 100, 20, 170});
    // The bench takes 300 s: the press has the second behind the first, whose table is left within
    // 100 s.
    Small longer = s;
    longer[bench].modes[0].work = Seconds{300};
    CHECK(simulate(s, longer, Recourse::Free) == Starts{0, 300, 20, 170});
    CHECK(simulate(s, longer, Recourse::Order) == Starts{0, 300, 100, 350});
    // The first cannot begin before 300: the second waits for that, and comes behind it.
    Small later = s;
    later.not_before(bench, 300);
    CHECK(simulate(s, later, Recourse::Free) == Starts{300, 400, 20, 170});
    CHECK(simulate(s, later, Recourse::Order) == Starts{300, 400, 300, 450});
}
