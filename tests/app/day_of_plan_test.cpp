// One rule for the day of the run, for every command.

#include "sched/app/parts/day_of_plan.hpp"

#include "sched/app/parts/under_way.hpp"
#include "tests/catch.hpp"

using namespace model;
using sched::app::day_of_plan;

TEST_CASE("the day: asked for, written, typical, now, the next working day", "[app][day]") {
    const auto at = [](const char* text) { return *parse_date_time(text); };
    Scenario s;
    s.room.people = {
        {.name = "Ada",
         .shifts = {{{true, true, true, true, true, false, false}, hours(6), hours(14)}}}};
    s.orders.resize(1);
    s.orders[0].due = at("2026-11-20T10:00");  // overdue, whenever it is run
    const SimTime friday_evening = at("2026-11-27T18:10");
    const SimTime monday = at("2026-11-30T00:00");
    CHECK(day_of_plan({}, s, friday_evening) == monday);
    CHECK(day_of_plan({.now = "10:40"}, s, friday_evening) == at("2026-11-27T00:00"));
    CHECK(day_of_plan({.now = "2026-11-26T10:40"}, s, friday_evening) == at("2026-11-26T00:00"));
    CHECK(day_of_plan({.typical_day = true}, s, friday_evening) == at("2026-11-20T00:00"));
    s.room.day = date_of(at("2026-11-26T00:00"));
    CHECK(day_of_plan({}, s, friday_evening) == at("2026-11-26T00:00"));
    CHECK(day_of_plan({.now = "10:40"}, s, friday_evening) == at("2026-11-26T00:00"));
    CHECK(day_of_plan({.typical_day = true}, s, friday_evening) == at("2026-11-26T00:00"));
    CHECK(day_of_plan({.date = "2026-12-01"}, s, friday_evening) == at("2026-12-01T00:00"));
    CHECK(day_of_plan({.from = "2026-12-02T09:15", .date = "2026-12-01"}, s, friday_evening) ==
          at("2026-12-02T09:15"));
    // A night shift: Thursday's run begins when Wednesday's night is over; weeks go on and on.
    Scenario night = s;
    night.room.people[0].shifts[0] = {
        {true, true, true, true, true, false, false}, hours(22), hours(30)};
    CHECK(day_of_plan({}, night, friday_evening) == at("2026-11-26T22:00"));
    CHECK(day_of_plan({.date = "2026-12-01"}, night, friday_evening) == at("2026-12-01T22:00"));
    CHECK(day_of_plan({.now = "23:40"}, night, friday_evening) == at("2026-11-26T00:00"));
    CHECK(day_of_plan({.typical_day = true}, night, friday_evening) == at("2026-11-26T22:00"));
    CHECK(day_of_plan({.typical_day = true, .many_days = true}, night, friday_evening) ==
          at("2026-11-26T00:00"));
    CHECK_FALSE(day_of_plan({.date = "2026-13-01"}, s, friday_evening));
    CHECK_FALSE(day_of_plan({.from = "soon"}, s, friday_evening));
}

TEST_CASE("after midnight of a night shift is the next day", "[app][day]") {
    const auto at = [](const char* text) { return *parse_date_time(text); };
    std::string problem;
    const SimTime night = at("2026-11-26T22:00");
    CHECK(sched::app::now_of("23:10", night, problem) == at("2026-11-26T23:10"));
    CHECK(sched::app::now_of("01:20", night, problem) == at("2026-11-27T01:20"));
    CHECK(problem.empty());
    CHECK_FALSE(sched::app::now_of("21:30", night, problem));
    CHECK(problem.find("lies before the plan begins") != std::string::npos);
    CHECK(sched::app::now_of("01:20", at("2026-11-26T00:00"), problem) == at("2026-11-26T01:20"));
    CHECK_FALSE(sched::app::now_of("2026-11-26T01:20", night, problem));
}
