// A place that is shut: it is the reason, though whoever works there went on with something else,
// and its hours limit the day. The first room; its booth is shut from nine until two, after the
// poster is due: by arithmetic nothing but the booth can make it late.

#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/room_of_plan.hpp"
#include "sched/core/objective.hpp"
#include "sched/report/plan/what_if_lines.hpp"
#include "tests/catch.hpp"

TEST_CASE("a place that is shut is named, not who worked elsewhere meanwhile", "[app][what-if]") {
    using namespace sched;
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/first-day", d);
    REQUIRE(s);
    const auto day = *model::parse_date_time("2026-11-26T00:00");
    for (auto& station : s->room.stations) {
        if (station.name == "booth")
            station.closed.emplace_back(day + model::hours(9), day + model::hours(14));
    }
    app::Question q{.folder = "", .scenario = *std::move(s), .start = day};
    q.how.budget.evaluations = 400;
    q.quiet = q.on_paper = true;
    const auto room = app::room_of(q, d);
    REQUIRE(room);
    const auto plan = app::find_plan(q, *room, room->room.problem, q.how);
    REQUIRE(plan.solution.schedule);
    auto document =
        report::make_plan_document(q.scenario, plan.room, plan.solution, report::PlanFacts{});
    int late = 0;
    for (const auto& order : document.orders) {
        if (!order.lateness || *order.lateness <= model::Seconds{0}) continue;
        ++late;
        INFO(order.story);
        CHECK(order.story.find("until booth can be used again") != std::string::npos);
    }
    CHECK(late == 1);

    const auto found = search::what_ifs(plan.room.problem, plan.solution, {.evaluations = 100});
    REQUIRE_FALSE(found.changes.empty());
    const search::WhatIf& best = found.changes.front();
    CHECK(plan.room.problem.resources[best.resource.index()].name == "booth");
    CHECK(best.kind == search::WhatIf::Kind::Longer);
    CHECK(best.value.parts.front() == 0);  // all in time
    report::add_limit(plan.room, found.changes, document);
    CHECK(document.bottleneck.resource == "booth");
    CHECK(document.bottleneck.sentences[0] == "That booth is closed limits the day.");
    CHECK(document.bottleneck.sentences[1].rfind(
              "Planned again so that booth is not closed (09:00 to 14:00): saves ", 0) == 0);
}
