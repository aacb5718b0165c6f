// What would help and only the scenario can tell. The room of one person from the demo rooms, who
// comes at noon, with orders that are due the day after: whatever is free to be done is done, also
// after the shift, and nobody need stay for it.

#include "sched/app/parts/other_ways.hpp"

#include <algorithm>

#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/room_of_plan.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"

namespace {

using namespace sched;

std::int64_t overtime_of_plan(const core::Problem& problem, const core::Schedule& schedule) {
    const auto at =
        std::find(problem.objective.begin(), problem.objective.end(), core::Criterion::Overtime);
    REQUIRE(at != problem.objective.end());
    return core::evaluate(problem, schedule)
        .parts[static_cast<std::size_t>(at - problem.objective.begin())];
}

}  // namespace

TEST_CASE("that nobody stays longer is one of the ways, where somebody does", "[app][what-if]") {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/first-day", d);
    REQUIRE(s);
    const auto day = *model::parse_date_time("2026-11-26T00:00");
    auto& ada = s->room.people.front();
    ada.shifts.front().from = model::hours(12);
    ada.breaks.clear();
    ada.overtime = model::hours(2);
    for (auto& order : s->orders)
        order.due = day + model::hours(40);
    app::Question q{.folder = "", .scenario = *std::move(s), .start = day};
    q.how.budget.evaluations = 1;  // no search: as it comes
    q.quiet = q.on_paper = true;
    const auto room = app::room_of(q, d);
    REQUIRE(room);
    const auto plan = app::find_plan(q, *room, room->room.problem, q.how);
    REQUIRE(plan.solution.schedule);
    const core::Problem& problem = plan.room.problem;
    REQUIRE(overtime_of_plan(problem, *plan.solution.schedule) > 0);

    const auto ways = app::other_ways(q.scenario, plan.how, plan.room, *plan.solution.schedule);
    REQUIRE(ways.words.size() == 1);  // nothing is late: no film, no coat
    CHECK(ways.words.front().rfind("nobody works overtime", 0) == 0);
    CHECK(ways.rooms.front().scenario.room.people.front().overtime == model::Seconds{0});
    const core::Problem& home = ways.problems.front().problem;
    CHECK(home.overtime.empty());
    core::Calendar asked = *problem.resources[problem.overtime.front().resource.index()].calendar;
    for (const auto& o : problem.overtime)
        core::close_window(asked, o.window);
    CHECK(*home.resources[problem.overtime.front().resource.index()].calendar == asked);
    // All is in time without it, and that is said to save the overtime.
    const auto found = search::what_ifs(problem, plan.solution, {.longer = false}, ways.problems);
    const auto way = std::find_if(found.changes.begin(), found.changes.end(), [](const auto& w) {
        return w.kind == search::WhatIf::Kind::Other;
    });
    REQUIRE(way != found.changes.end());
    CHECK(overtime_of_plan(problem, way->schedule) == 0);
    CHECK(core::evaluate(problem, way->schedule).parts.front() == 0);

    // Who works no overtime is not told so.
    q.scenario.room.people.front().overtime = model::Seconds{0};
    const auto none = app::room_of(q, d);
    REQUIRE(none);
    const auto short_day = app::find_plan(q, *none, none->room.problem, q.how);
    REQUIRE(short_day.solution.schedule);
    CHECK(app::other_ways(q.scenario, short_day.how, short_day.room, *short_day.solution.schedule)
              .words.empty());
}
