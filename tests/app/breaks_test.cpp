// Floating breaks from the room file to the plan's words.

#include <algorithm>

#include "model/read/scenario.hpp"
#include "sched/advise/pause_search.hpp"
#include "sched/app/parts/pinned.hpp"
#include "sched/check/checker.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/pauses.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/sheets.hpp"
#include "sched/report/plan/text.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"

namespace {

using namespace sched;

model::SimTime on_the_26th(const std::string& text) {
    return *model::parse_date_time("2026-11-26T" + text);
}

model::Scenario read(const std::string& folder) {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/" + folder, d);
    REQUIRE(s);
    return *s;
}

compile::RoomProblem compiled(const model::Scenario& s, const compile::CompileOptions& options) {
    model::Diagnostics d;
    auto room = compile::compile_room(s, options, d);
    REQUIRE(room);
    return *room;
}

search::SearchOptions budget(std::int64_t evaluations) {
    search::SearchOptions options;
    options.budget.evaluations = evaluations;
    return options;
}

}  // namespace

TEST_CASE("every break of the room file is in the plan, whole and in its window", "[breaks]") {
    const auto s = read("tomorrow");
    const compile::CompileOptions options{.start = on_the_26th("00:00")};
    auto room = compiled(s, options);
    const auto found = search::solve_with_pauses(room.problem, budget(120));
    REQUIRE(found.solution.schedule);
    CHECK(check::check(found.problem, *found.solution.schedule).empty());
    core::place_pauses(room.problem, found.problem.pauses);
    CHECK(room.problem == found.problem);

    // Compiled again with these places it is the same room.
    compile::CompileOptions again = options;
    again.pauses = found.problem.pauses;
    CHECK(compiled(s, again).problem == found.problem);

    auto d = report::make_plan_document(s, room, found.solution, {.version = "test"});
    for (const auto& person : s.room.people) {
        for (const auto& pause : person.breaks) {
            INFO(person.name);
            const auto day = on_the_26th("00:00");
            CHECK(std::count_if(d.breaks.begin(), d.breaks.end(), [&](const auto& x) {
                      return x.person == person.name && x.from >= day + pause.earliest &&
                             x.from <= day + pause.latest && x.to - x.from == pause.length;
                  }) == 1);
        }
    }
    const std::string text = report::to_text(d);
    CHECK(text.find("Ada's break ") != std::string::npos);
    CHECK(text.find("(between 08:45 and 09:45)") != std::string::npos);
    CHECK(report::to_sheets(d).find("Break ") != std::string::npos);
    CHECK(report::contradictions(d).empty());
    d.breaks.front().from += model::minutes(5);
    CHECK(report::contradictions(d).size() == 1);
}

TEST_CASE("breaks begin after the run does, and those under way are over in time", "[breaks]") {
    auto s = read("first-day");
    s.room.people[0].breaks = {{model::hours(9), model::hours(10), model::minutes(15)},
                               {model::hours(12), model::hours(12), model::minutes(30)}};
    const auto pauses_from = [&](const char* start) {
        auto room = compiled(s, {.start = on_the_26th(start), .days = 1});
        std::vector<core::Pause> out = room.problem.pauses;
        std::erase_if(out, [&](const core::Pause& p) { return p.at >= on_the_26th("23:00"); });
        return out;
    };
    REQUIRE(pauses_from("00:00").size() == 2);
    CHECK(pauses_from("00:00")[0].earliest == on_the_26th("09:00"));
    CHECK(pauses_from("00:00")[0].latest == on_the_26th("10:00"));
    CHECK(pauses_from("09:00").size() == 2);
    // One person takes it at the first minute: at 9:05 it is under way.
    REQUIRE(pauses_from("09:05").size() == 1);
    const auto room = compiled(s, {.start = on_the_26th("09:05"), .days = 1});
    const auto& ada = room.problem.resources.back();
    CHECK(ada.calendar->front().from == on_the_26th("09:15"));
    CHECK(pauses_from("13:00").empty());
}

TEST_CASE("a pin in somebody's floating break moves the break", "[breaks]") {
    auto s = read("first-day");
    s.room.people[0].breaks = {{model::hours(8), model::hours(10), model::minutes(30)}};
    auto room = compiled(s, {.start = on_the_26th("00:00")});
    // The break is put to 8:00 at first.
    const app::Pinned pinned = app::hold_pins({"coat T1-1 at 08:10"}, room);
    REQUIRE_FALSE(pinned.status);
    const auto found = search::solve_with_pauses(pinned.problem, budget(60));
    REQUIRE(found.solution.schedule);
    for (const auto& v : check::check(found.problem, *found.solution.schedule))
        UNSCOPED_INFO(v.words);
    CHECK(check::check(found.problem, *found.solution.schedule).empty());
    CHECK(found.problem.pauses.front().at != on_the_26th("08:00"));
}
