// Pins are kept, and pins that cannot be kept are named, no more and no fewer than needed.

#include "sched/advise/pins.hpp"

#include "sched/advise/what_if.hpp"
#include "sched/check/checker.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"

using namespace sched;
using core::OperationId;
using core::Seconds;
using core::SimTime;

namespace {

SimTime clock_at(int minutes) {
    return SimTime{Seconds{60 * minutes}};
}

// Two screens of two steps (coat 10 min, expose 20 min) on a stand and a unit; Ann 0:00-4:00 and
// Bo 1:00-4:00 do either. Operations 0 1 are of order A, 2 3 of order B.
core::Problem two_screens() {
    using namespace core;
    Problem p;
    p.horizon_end = clock_at(480);
    p.resources = {{.name = "stand"},
                   {.name = "unit"},
                   {.name = "Ann", .calendar = Calendar{{clock_at(0), clock_at(240)}}},
                   {.name = "Bo", .calendar = Calendar{{clock_at(60), clock_at(240)}}}};
    for (int k = 0; k < 2; ++k) {
        p.orders.push_back({.name = k == 0 ? "A" : "B", .due = clock_at(30)});
        p.jobs.push_back({.name = k == 0 ? "A-1" : "B-1", .order = OrderId{k}});
        for (int s = 0; s < 2; ++s) {
            p.operations.push_back(
                {.name = (s == 0 ? "coat " : "expose ") + p.jobs.back().name,
                 .job = JobId{k},
                 .modes = {{.work = Seconds{600 + 600 * s},
                            .needs = {{.any_of = {ResourceId{s}}},
                                      {.any_of = {ResourceId{2}, ResourceId{3}}}}}}});
        }
        p.constraints.push_back(TimeLag{.from = OperationId{2 * k}, .to = OperationId{2 * k + 1}});
    }
    p.objective = {Criterion::WeightedTardiness, Criterion::Makespan};
    return p;
}

// Ann and Bo are people: they are needed while the work lasts.
core::Problem with_hands(core::Problem p) {
    for (auto& o : p.operations)
        o.modes[0].needs[1].span = core::Span::Work;
    return p;
}

core::Solution planned(const core::Problem& p) {
    REQUIRE(core::validate(p).empty());
    search::SearchOptions options;
    options.budget.evaluations = 4000;
    return search::solve(p, options);
}

}  // namespace

TEST_CASE("every kind of pin is kept", "[pins]") {
    const auto p = two_screens();
    const std::vector<search::Pin> pins = {
        search::PinStart{{OperationId{0}}, clock_at(90), clock_at(90)},
        search::PinChoice{{OperationId{0}}, {core::ResourceId{3}}},
        search::PinForbid{core::ResourceId{2}, {OperationId{1}}},
        search::PinAfter{search::operations_of(p, core::JobId{0}),
                         search::operations_of(p, core::JobId{1})},
        search::PinOrder{core::OrderId{1}, std::nullopt, clock_at(200)},
        search::PinWeight{core::OrderId{0}, 7}};
    CHECK_FALSE(search::find_contradiction(p, pins));
    const auto s = planned(search::apply_pins(p, pins));
    REQUIRE(s.schedule);
    CHECK(check::check(p, *s.schedule).empty());  // a schedule of the problem without pins too
    const auto& at = s.schedule->placements;
    CHECK(at[0].start == clock_at(90));
    CHECK(at[0].chosen[1] == core::ResourceId{3});
    CHECK(at[1].chosen[1] == core::ResourceId{3});
    CHECK(at[2].start >= at[1].end);
    CHECK(at[3].end <= clock_at(200));
    // A ends at 120, 90 min late with weight 7; B follows: 120 + 10 + 20 = 150, 120 min late.
    CHECK(s.value.parts[0] == 60 * (7 * 90 + 120));
}

TEST_CASE("only the pins that contradict each other are named", "[pins]") {
    const auto p = two_screens();
    // Coat at 100 and expose by 105 cannot be: coating takes 10 minutes. The rest is innocent.
    const std::vector<search::Pin> pins = {
        search::PinWeight{core::OrderId{0}, 2},
        search::PinStart{{OperationId{0}}, clock_at(100), std::nullopt},
        search::PinStart{{OperationId{2}}, clock_at(30), std::nullopt},
        search::PinStart{{OperationId{1}}, std::nullopt, clock_at(105)},
        search::PinForbid{core::ResourceId{3}, {}}};
    const auto c = search::find_contradiction(p, pins);
    REQUIRE(c);
    CHECK(c->pins == std::vector<std::size_t>{1, 3});
    CHECK_FALSE(c->by_search);
    // Each is needed: without either there is no contradiction.
    for (const std::size_t k : c->pins) {
        std::vector<search::Pin> rest;
        for (const std::size_t other : c->pins) {
            if (other != k) rest.push_back(pins[other]);
        }
        CHECK_FALSE(search::find_contradiction(p, rest));
    }
    const auto text = search::words(p, *c,
                                    {"A counts 2", "coat A-1 not before 01:40",
                                     "coat B-1 not before 00:30", "expose A-1 by 01:45", "no Bo"});
    CHECK(text ==
          "These cannot all be kept: coat A-1 not before 01:40; expose A-1 by 01:45; coat A-1 to "
          "expose A-1 takes at least 10 min. No fewer of the pins contradict each other.");
}

TEST_CASE("of several contradictions the one of fewest pins is named", "[pins]") {
    // Two sets of pins contradict themselves, one of three (A after B, B not before 150, A by 155)
    // and one of two (coat A not before 100, expose A by 105); dropping pins one by one from the
    // front would end at the three.
    const auto p = two_screens();
    const auto a = search::operations_of(p, core::OrderId{0}),
               b = search::operations_of(p, core::OrderId{1});
    const search::Pin from_100 = search::PinStart{{OperationId{0}}, clock_at(100), std::nullopt};
    const search::Pin by_105 = search::PinStart{{OperationId{1}}, std::nullopt, clock_at(105)};
    const search::Pin after = search::PinAfter{b, a};
    const search::Pin b_from_150 = search::PinStart{{OperationId{2}}, clock_at(150), std::nullopt};
    const search::Pin a_by_155 = search::PinStart{{OperationId{0}}, std::nullopt, clock_at(155)};
    const auto c = search::find_contradiction(p, {from_100, by_105, after, b_from_150, a_by_155});
    REQUIRE(c);
    CHECK(c->pins == std::vector<std::size_t>{0, 1});
    CHECK(c->smallest);
    // By trying every subset: none of one pin contradicts itself, and of two only this one.
    const std::vector<search::Pin> pins = {from_100, by_105, after, b_from_150, a_by_155};
    for (std::size_t x = 0; x < pins.size(); ++x) {
        CHECK_FALSE(search::find_contradiction(p, {pins[x]}));
        for (std::size_t y = x + 1; y < pins.size(); ++y)
            CHECK(search::find_contradiction(p, {pins[x], pins[y]}).has_value() ==
                  (x == 0 && y == 1));
    }
}

TEST_CASE("a pinned place rules out the ways to do it elsewhere", "[pins]") {
    // Two cabinets as two modes: pinned to the second, the first way is closed.
    core::Problem p = two_screens();
    p.resources.push_back({.name = "second unit"});
    p.operations[1].modes.push_back(p.operations[1].modes[0]);
    p.operations[1].modes[1].needs[0].any_of = {core::ResourceId{4}};
    p.operations[1].modes[1].work = Seconds{1800};  // slower: nobody would choose it
    const auto free = planned(p);
    REQUIRE(free.schedule);
    CHECK(free.schedule->placements[1].mode == 0);
    const std::vector<search::Pin> pins = {
        search::PinChoice{{OperationId{1}}, {core::ResourceId{4}}}};
    const auto s = planned(search::apply_pins(p, pins));
    REQUIRE(s.schedule);
    CHECK(check::check(p, *s.schedule).empty());
    CHECK(s.schedule->placements[1].mode == 1);
    CHECK(s.schedule->placements[1].chosen[0] == core::ResourceId{4});
}

TEST_CASE("after one another in a circle is found", "[pins]") {
    const auto p = two_screens();
    const auto a = search::operations_of(p, core::OrderId{0}),
               b = search::operations_of(p, core::OrderId{1});
    const std::vector<search::Pin> pins = {search::PinAfter{a, b}, search::PinAfter{b, a}};
    const auto c = search::find_contradiction(p, pins);
    REQUIRE(c);
    CHECK(c->pins == std::vector<std::size_t>{0, 1});
}

TEST_CASE("a person pinned to a time outside the shift is found", "[pins]") {
    const auto p = two_screens();
    const std::vector<search::Pin> pins = {
        search::PinStart{{OperationId{2}}, std::nullopt, clock_at(100)},
        search::PinStart{{OperationId{0}}, clock_at(20), clock_at(20)},
        search::PinChoice{{OperationId{0}}, {core::ResourceId{3}}}};  // Bo comes at 60
    const auto c = search::find_contradiction(p, pins);
    REQUIRE(c);
    CHECK(c->pins == std::vector<std::size_t>{1, 2});
    REQUIRE(c->limits.size() == 1);
    CHECK(c->limits[0].kind == search::Limit::Kind::Staff);
}

TEST_CASE("what only places and people forbid is proved by the exact search", "[pins][exact]") {
    const auto p = two_screens();
    // Both exposures (20 min each, one unit) must start in 30..45: impossible together.
    const std::vector<search::Pin> pins = {
        search::PinStart{{OperationId{1}}, clock_at(30), clock_at(45)},
        search::PinWeight{core::OrderId{1}, 3},
        search::PinStart{{OperationId{3}}, clock_at(30), clock_at(45)}};
    const auto c = search::find_contradiction(p, pins);
    REQUIRE(c);
    CHECK(c->by_search);
    CHECK(c->pins == std::vector<std::size_t>{0, 2});
}

TEST_CASE("one more of what limits saves what it must", "[what-if]") {
    // Before Bo comes Ann alone does 10 + 20 + 10 + 20 = 60 min: the orders end at 30 and 60 (30
    // min late) at best. With a second Ann the coats follow each other on the stand (10, 20), the
    // exposures on the unit (30, 50): 20 min late. A second unit alone changes nothing.
    const auto p = two_screens();
    const auto s = planned(p);
    REQUIRE(s.value.parts[0] == 60 * 30);
    const auto more = search::what_ifs(p, s, {.evaluations = 100}).changes;
    REQUIRE_FALSE(more.empty());
    bool ann = false;
    for (const auto& w : more) {
        if (w.kind == search::WhatIf::Kind::Before) continue;  // others pay for it
        CHECK(w.value <= s.value);
        if (w.resource == core::ResourceId{2} && w.kind == search::WhatIf::Kind::OneMore) {
            ann = true;
            CHECK(w.saved[0] == 60 * 10);
            CHECK(w.certain);
        }
        if (w.resource == core::ResourceId{1}) CHECK(w.saved[0] == 0);
    }
    CHECK(ann);
    CHECK(more.front().resource == core::ResourceId{2});
}

TEST_CASE("an exchange of turn says who gains and who pays", "[what-if]") {
    // Ann does one screen after the other, 30 min each, and Bo is not there yet: whoever is second
    // is 30 min late. With its first step before the other's last the two change places.
    const auto p = two_screens();
    const auto s = planned(p);
    REQUIRE(s.value.parts[0] == 60 * 30);
    const std::size_t late = s.schedule->placements[3].end > clock_at(30) ? 1 : 0;
    const auto turns = search::turns_to_exchange(p, *s.schedule, 2);
    REQUIRE(turns.size() == 1);
    CHECK(turns[0].first.index() / 2 == late);
    CHECK(turns[0].second.index() / 2 == 1 - late);
    int exchanges = 0;
    const auto found = search::what_ifs(p, s, {.evaluations = 100});
    for (const auto& w : found.changes) {
        if (w.kind != search::WhatIf::Kind::Before) continue;
        ++exchanges;
        CHECK(w.saved[0] == 0);
        REQUIRE(w.orders.size() == 2);
        CHECK(w.orders[0].order.index() == late);
        CHECK(w.orders[0].less == Seconds{60 * 30});
        CHECK(w.orders[1].less == Seconds{-60 * 30});
    }
    CHECK(exchanges == 1);
}

TEST_CASE("what the caller brings is planned again, too", "[what-if]") {
    // With coats of 5 min instead of 10 the second is 20 min late.
    const auto p = two_screens();
    const auto s = planned(p);
    core::Problem thin = p;
    for (const int coat : {0, 2})
        thin.operations[static_cast<std::size_t>(coat)].modes[0].work = Seconds{300};
    const auto found = search::what_ifs(p, s, {.evaluations = 100}, {{thin, false}});
    for (const auto& w : found.changes) {
        if (w.kind != search::WhatIf::Kind::Other) continue;
        CHECK(w.other == 0);
        CHECK(w.saved[0] == 60 * 10);
        return;
    }
    FAIL("it is not there");
}

TEST_CASE("longer hours lengthen every evening, not the lunch break", "[what-if]") {
    auto p = with_hands(two_screens());
    p.resources[2].calendar = core::Calendar{{clock_at(0), clock_at(240)},
                                             {clock_at(270), clock_at(480)},
                                             {clock_at(1440), clock_at(1680)}};
    const auto q = search::with_longer_hours(p, core::ResourceId{2}, Seconds{3600});
    CHECK(*q.resources[2].calendar == core::Calendar{{clock_at(0), clock_at(240)},
                                                     {clock_at(270), clock_at(540)},
                                                     {clock_at(1440), clock_at(1740)}});
}

// Open half an hour longer after the last day of the plan is nothing that anybody could use.
TEST_CASE("a place has no hours but those in which it is closed", "[what-if]") {
    auto p = with_hands(two_screens());
    const core::ResourceId stand{0};
    const core::Calendar open{{clock_at(0), clock_at(240)},
                              {clock_at(330), clock_at(480)},
                              {clock_at(500), clock_at(1680)}};
    p.resources[0].calendar = open;
    REQUIRE(search::closings(p, stand).size() == 2);
    CHECK(*search::with_longer_hours(p, stand, Seconds{1800}).resources[0].calendar ==
          core::Calendar{{clock_at(0), clock_at(1680)}});
    CHECK(search::closings(p, core::ResourceId{2}).empty());
    // Out of work now: what if it were not?
    p.now = clock_at(300);
    REQUIRE(search::closings(p, stand).size() == 2);
    CHECK(search::closings(p, stand)[0].from == clock_at(240));
    p.now = clock_at(340);
    CHECK(*search::with_longer_hours(p, stand, Seconds{1800}).resources[0].calendar ==
          core::Calendar{{clock_at(0), clock_at(240)}, {clock_at(330), clock_at(1680)}});
    p.now = clock_at(510);
    CHECK(search::closings(p, stand).empty());
    CHECK(*search::with_longer_hours(p, stand, Seconds{1800}).resources[0].calendar == open);
}
