#include "sched/core/problem.hpp"
#include "sched/core/objective.hpp"
#include "tests/catch.hpp"

using namespace sched::core;

TEST_CASE("a problem with dangling ids is refused with words", "[core]") {
    Problem p;
    p.horizon_end = SimTime{Seconds{100}};
    p.resources.push_back({.name = "stand"});
    p.operations.push_back(
        {.name = "coat", .modes = {{.work = Seconds{10}, .needs = {{.any_of = {ResourceId{0}}}}}}});
    REQUIRE(validate(p).empty());
    p.operations[0].modes[0].needs[0].any_of[0] = ResourceId{3};
    p.constraints.push_back(TimeLag{.from = OperationId{0}, .to = OperationId{7}});
    CHECK(validate(p).size() == 2);
}

// Ada loads a batch of two in her overtime: 40 s of hers, not 70.
TEST_CASE("overtime counts a person's second once", "[objective]") {
    using namespace sched::core;
    const auto tick = [](int t) { return SimTime{Seconds{t}}; };
    Problem p;
    p.horizon_end = tick(200);
    p.resources = {{.name = "Ada", .calendar = Calendar{{tick(0), tick(200)}}},
                   {.name = "unit", .batch = BatchArea{100, 100, 0, 4}},
                   {.name = "rack", .capacity = 2}};
    const ResourceId ada{std::size_t{0}}, unit{std::size_t{1}}, rack{std::size_t{2}};
    p.overtime = {{ada, {tick(100), tick(200)}}, {rack, {tick(100), tick(200)}}};
    p.objective = {Criterion::Overtime};
    for (const int work : {30, 40}) {
        p.operations.push_back({.name = "load",
                                .modes = {{.work = Seconds{work},
                                           .needs = {{.any_of = {unit}},
                                                     {.any_of = {ada}, .span = Span::Work},
                                                     {.any_of = {rack}, .span = Span::Work}}}},
                                .max_stretch = Seconds{10},
                                .batch = BatchShape{0, 10, 10}});
    }
    Schedule s;
    for (const int work : {30, 40}) {
        s.placements.push_back({.start = tick(100),
                                .work_end = tick(100 + work),
                                .end = tick(140),
                                .mode = 0,
                                .chosen = {unit, ada, rack},
                                .batch = 0});
    }
    CHECK(evaluate(p, s).parts == std::vector<std::int64_t>{40 + 30 + 40});  // rack: two screens
    s.placements[1].batch = 1;
    CHECK(evaluate(p, s).parts == std::vector<std::int64_t>{70 + 70});
}
