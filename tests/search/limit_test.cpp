// What one more of something saves, where it can be said by hand.

#include "sched/advise/what_if.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"

using namespace sched;
using core::Seconds;
using core::SimTime;

namespace {

/// `jobs` screens, each 600 s on the press, then 60 s on the table; all due after `due` s.
core::Problem two_stations(int jobs, std::int64_t due) {
    core::Problem p;
    p.horizon_end = SimTime{Seconds{1'000'000}};
    p.resources = {{.name = "press"}, {.name = "table"}};
    p.objective = {core::Criterion::WeightedTardiness, core::Criterion::LateOrders,
                   core::Criterion::Makespan};
    for (int k = 0; k < jobs; ++k) {
        const core::OrderId order{p.orders.size()};
        p.orders.push_back({.name = "o" + std::to_string(k), .due = SimTime{Seconds{due}}});
        p.jobs.push_back({.name = "j" + std::to_string(k), .order = order});
        for (int step = 0; step < 2; ++step) {
            p.operations.push_back({.name = "op" + std::to_string(2 * k + step),
                                    .job = core::JobId{p.jobs.size() - 1},
                                    .modes = {{.work = Seconds{step == 0 ? 600 : 60},
                                               .needs = {{.any_of = {core::ResourceId{step}}}}}}});
        }
        p.constraints.push_back(
            core::TimeLag{.from = core::OperationId{2 * k}, .to = core::OperationId{2 * k + 1}});
    }
    return p;
}

core::Solution solved(const core::Problem& p) {
    search::SearchOptions options;
    options.budget.evaluations = 400;
    options.threads = 1;
    return search::solve(p, options);
}

}  // namespace

TEST_CASE("one more of the busy station saves what can be reckoned, of the idle one nothing",
          "[what-if]") {
    // One press: ready at 660, 1260, ... 6 x 600 + 60 = 3660. Two: pairs, the table 60 s behind,
    // last at 3 x 600 + 2 x 60 = 1920. Due at 0: lateness is the sum of ready times.
    const auto p = two_stations(6, 0);
    const auto solution = solved(p);
    REQUIRE(solution.schedule);
    CHECK(solution.value.parts == std::vector<std::int64_t>{6 * 60 + 600 * 21, 6, 3660});
    const auto found = search::what_ifs(p, solution, search::quick_look(2000)).changes;
    REQUIRE(!found.empty());
    CHECK(found.front().resource == core::ResourceId{0});
    CHECK(found.front().certain);
    // 660, 720, 1260, 1320, 1860, 1920.
    CHECK(found.front().value.parts == std::vector<std::int64_t>{7740, 6, 1920});
    CHECK(found.front().saved.front() == 12960 - 7740);
    for (const auto& w : found) {
        CHECK(w.kind == search::WhatIf::Kind::OneMore);
        if (w.resource == core::ResourceId{1}) {
            CHECK(w.saved.front() == 0);
            CHECK_FALSE(w.certain);
        }
    }
}

TEST_CASE("one screen alone waits for nothing: nothing is tried", "[what-if]") {
    const auto p = two_stations(1, 0);
    const auto solution = solved(p);
    REQUIRE(solution.schedule);
    CHECK(search::what_ifs(p, solution, search::quick_look(2000)).changes.empty());
}

TEST_CASE("what the room can do as it is, no change has saved", "[what-if]") {
    using search::measure_against;
    core::Problem p;
    p.objective = {core::Criterion::WeightedTardiness, core::Criterion::LateOrders,
                   core::Criterion::Makespan};
    search::WhatIf one_more;
    one_more.base = {{600, 1, 5000}};
    one_more.value = {{0, 0, 4000}};
    one_more.saved = {600, 1, 1000};
    one_more.certain = true;
    one_more.orders = {{core::OrderId{0}, Seconds{600}}};
    // Another plan has nothing late either: an hour sooner is what is left.
    std::vector<search::WhatIf> all{one_more};
    measure_against(p, {{0, 0, 4600}}, all);
    CHECK(all[0].saved == std::vector<std::int64_t>{0, 0, 600});
    CHECK(all[0].certain);
    CHECK(all[0].orders.empty());
    // It ends sooner than with the change: that saves nothing.
    all = {one_more};
    measure_against(p, {{0, 0, 3000}}, all);
    CHECK(all[0].saved == std::vector<std::int64_t>{0, 0, -1000});
    CHECK_FALSE(all[0].certain);
    // Only its end is better: the plan at hand was not chosen for its end.
    all = {one_more};
    measure_against(p, {{600, 1, 100}}, all);
    CHECK(all[0].saved == one_more.saved);
    // It is worse.
    measure_against(p, {{700, 1, 100}}, all);
    CHECK(all[0].saved == one_more.saved);
}

namespace {

// Order k of one job of 300 s.
void add_job(core::Problem& p, int k, std::vector<core::Need> needs) {
    p.orders.push_back({.name = "o" + std::to_string(k)});
    p.jobs.push_back({.name = "j" + std::to_string(k), .order = core::OrderId{k}});
    p.operations.push_back({.name = "op" + std::to_string(k),
                            .job = core::JobId{k},
                            .modes = {{.work = Seconds{300}, .needs = std::move(needs)}}});
}

}  // namespace

// By hand: Ada until 600 s, then 300 s of overtime; three jobs of 300 s by her or by Bo, who has
// gone. One after the other takes all three, the last in overtime; with another like her two are
// done at 300 and the third at 600. If the copy works from 600 to 900 that is overtime, too.
TEST_CASE("another person has the overtime of the one who is copied", "[what-if]") {
    core::Problem p;
    const auto at = [](std::int64_t t) { return SimTime{Seconds{t}}; };
    p.horizon_end = at(10'000);
    p.resources = {{.name = "Ada", .calendar = core::Calendar{{at(0), at(900)}}},
                   {.name = "Bo", .calendar = core::Calendar{{at(0), at(1)}}}};
    p.overtime = {{core::ResourceId{0}, {at(600), at(900)}}};
    p.objective = {core::Criterion::Makespan, core::Criterion::Overtime};
    for (int k = 0; k < 3; ++k) {
        add_job(p, k,
                {{.any_of = {core::ResourceId{0}, core::ResourceId{1}}, .span = core::Span::Work}});
    }
    const auto alone = solved(p);
    REQUIRE(alone.schedule);
    CHECK(alone.value.parts == std::vector<std::int64_t>{900, 300});
    const auto two = search::with_one_more(p, core::ResourceId{0});
    REQUIRE(two.resources.size() == 3);
    REQUIRE(two.overtime.size() == 2);
    CHECK(two.overtime[1] == core::OvertimeWindow{core::ResourceId{2}, p.overtime.front().window});
    const auto with = solved(two);
    REQUIRE(with.schedule);
    CHECK(with.value.parts == std::vector<std::int64_t>{600, 0});
    core::Schedule late = *with.schedule;
    auto& last = late.placements[2];
    last.start = at(600);
    last.work_end = last.end = at(900);
    last.chosen = {core::ResourceId{2}};
    CHECK(core::evaluate(two, late).parts == std::vector<std::int64_t>{900, 300});
}

// By hand: three jobs of 300 s, each at its own place, by Ada alone, who walks 10 s from one to the
// next: 300 + 310 + 310 = 920. With somebody like her one does a job, the other two: 610.
TEST_CASE("another person helps somebody who is alone and walks", "[what-if]") {
    core::Problem p;
    p.horizon_end = SimTime{Seconds{10'000}};
    p.resources = {{.name = "Ada", .walk = Seconds{10}}};
    p.objective = {core::Criterion::Makespan};
    for (int k = 0; k < 3; ++k) {
        p.resources.push_back({.name = "place " + std::to_string(k)});
        add_job(p, k,
                {{.any_of = {core::ResourceId{k + 1}}},
                 {.any_of = {core::ResourceId{0}}, .span = core::Span::Work}});
    }
    const auto alone = solved(p);
    REQUIRE(alone.schedule);
    CHECK(alone.value.parts == std::vector<std::int64_t>{920});
    const auto found = search::what_ifs(p, alone, search::quick_look(2000)).changes;
    REQUIRE(found.size() == 1);
    CHECK(core::validate(search::with_one_more(p, core::ResourceId{0})).empty());
    CHECK(found.front().saved == std::vector<std::int64_t>{310});
    CHECK(found.front().certain);
}

// "One more place at" one of two alike is a place, not a second house with as many.
TEST_CASE("one more place at one of two alike is one place", "[what-if]") {
    core::Problem p = two_stations(2, 0);
    p.resources.push_back({.name = "cabinet 1", .capacity = 6});
    p.resources.push_back({.name = "cabinet 2", .capacity = 6});
    p.operations[0].modes[0].needs.push_back(
        {.any_of = {core::ResourceId{2}, core::ResourceId{3}}});
    const auto more = search::with_one_more(p, core::ResourceId{2});
    REQUIRE(more.resources.size() == 4);
    CHECK(more.resources[2].capacity == 7);
    CHECK(more.resources[3].capacity == 6);
}

// With no seconds at all the first change is tried, and it is said how many more there are; in
// schedules all are.
TEST_CASE("where the time is short fewer changes are tried", "[what-if]") {
    const auto p = two_stations(6, 0);
    const auto solution = solved(p);
    REQUIRE(solution.schedule);
    search::WhatIfOptions how;
    how.total.evaluations = 100;
    const auto all = search::what_ifs(p, solution, how);
    CHECK(all.left_out == 0);
    REQUIRE(all.changes.size() > 2);
    how.total = {};
    how.total.seconds = 0.0;
    const auto few = search::what_ifs(p, solution, how);
    REQUIRE(few.changes.size() == 1);
    CHECK(few.left_out == all.changes.size() - 1);
    CHECK(few.changes.front().resource == all.changes.front().resource);
    // By schedules, but not for longer than this: the one that is tried is tried in full.
    how.total = {};
    how.total.evaluations = 100;
    how.most_seconds = 0.0;
    const auto first = search::what_ifs(p, solution, how);
    REQUIRE(first.changes.size() == 1);
    CHECK(first.left_out == all.changes.size() - 1);
    how.most_seconds = 3600.0;
    const auto every = search::what_ifs(p, solution, how);
    CHECK(every.changes.size() == all.changes.size());
    CHECK(every.left_out == 0);
}
