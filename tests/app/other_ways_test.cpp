// What would help and only the scenario can tell. The room of one person from the demo rooms, who
// comes at noon, with orders that are due the day after: whatever is free to be done is done, also
// after the shift, and nobody need stay for it.

#include "sched/app/parts/other_ways.hpp"

#include <algorithm>

#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/given_too_late.hpp"
#include "sched/app/parts/room_of_plan.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/objective.hpp"
#include "sched/report/document/plan_document.hpp"
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

// The tote bags are due at 9:00, and one of the frames of their mesh comes back at that very time.
TEST_CASE("an order that waits for a frame is told so, and that one more frame helps",
          "[app][what-if]") {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/first-day", d);
    REQUIRE(s);
    auto& store = s->frames;
    const auto used = std::find_if(store.begin(), store.end(), [](const auto& f) {
        return f.mesh == "77-55" && f.state == model::FrameState::OldStencil;
    });
    REQUIRE((used != store.end() && used->count == 2));
    used->count = 1;
    model::FrameStock back = *used;
    const auto due = *model::parse_date_time("2026-11-27T09:00");
    back.from = due;
    store.push_back(back);
    app::Question q{.folder = "",
                    .scenario = *std::move(s),
                    .start = *model::parse_date_time("2026-11-26T00:00")};
    q.how.budget.evaluations = 20;
    q.quiet = q.on_paper = true;
    const auto sentences = [&](const app::FoundPlan& plan) {
        auto document =
            report::make_plan_document(q.scenario, plan.room, plan.solution, report::PlanFacts{});
        document.bottleneck.sentences.clear();
        app::add_given_too_late(q.scenario, plan.room, document);
        return document.bottleneck.sentences;
    };
    const auto room = app::room_of(q, d);
    REQUIRE(room);
    const auto plan = app::find_plan(q, *room, room->room.problem, q.how);
    REQUIRE(plan.solution.schedule);
    const auto says = sentences(plan);
    REQUIRE(says.size() == 1);
    CHECK(says.front() ==
          "B1 cannot be in time, whoever helps: its last frame is there at Fri 09:00. With the "
          "frame there from the start it could be.");

    const auto ways = app::other_ways(q.scenario, plan.how, plan.room, *plan.solution.schedule);
    const auto at = std::find(ways.words.begin(), ways.words.end(),
                              "1 more frame 58 x 84 cm 77-55, with an old stencil, in the store "
                              "for B1");
    REQUIRE(at != ways.words.end());
    // With that frame all is in time: what is proposed works.
    q.scenario = ways.rooms[static_cast<std::size_t>(at - ways.words.begin())].scenario;
    const auto stocked = app::room_of(q, d);
    REQUIRE(stocked);
    const auto better = app::find_plan(q, *stocked, stocked->room.problem, q.how);
    REQUIRE(better.solution.schedule);
    CHECK(core::evaluate(better.room.problem, *better.solution.schedule).parts.front() == 0);
    CHECK(sentences(better).empty());
}
