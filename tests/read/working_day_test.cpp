#include "model/room/working_day.hpp"

#include "tests/catch.hpp"

using namespace model;

namespace {

SimTime at(const char* text) {
    return *parse_date_time(text);
}

}  // namespace

TEST_CASE("the next working day is the first whose work has not begun", "[working-day]") {
    Room room;
    Person ada{.name = "Ada",
               .shifts = {{{true, true, true, true, true, false, false}, hours(6), hours(14)}}};
    Person ben = ada;
    ben.shifts[0].from = hours(14);
    ben.shifts[0].to = hours(22);
    room.people = {ben, ada};
    // 2026-11-26 is a Thursday.
    CHECK(next_working_day(room, at("2026-11-26T05:30")) == at("2026-11-26T00:00"));
    CHECK(next_working_day(room, at("2026-11-26T06:01")) == at("2026-11-27T00:00"));
    CHECK(next_working_day(room, at("2026-11-27T17:00")) == at("2026-11-30T00:00"));
    for (Person& p : room.people)
        p.absent = {date_of(at("2026-11-30T00:00"))};
    CHECK(next_working_day(room, at("2026-11-27T17:00")) == at("2026-12-01T00:00"));
    CHECK_FALSE(works_on(room, date_of(at("2026-11-30T00:00"))));
    CHECK_FALSE(works_on(room, date_of(at("2026-11-28T00:00"))));
    room.people.clear();
    CHECK(next_working_day(room, at("2026-11-27T17:00")) == at("2026-11-28T00:00"));
}

TEST_CASE("the run of a day is not the end of the night before", "[working-day]") {
    // Nora from 22:00 to 6:00, Monday to Friday; 2026-11-26 is a Thursday.
    Room room;
    room.people = {
        {.name = "Nora",
         .shifts = {{{true, true, true, true, true, false, false}, hours(22), hours(30)}}}};
    const auto thursday = date_of(at("2026-11-26T00:00"));
    std::vector<Order> orders(1);
    orders[0].due = at("2026-11-27T05:00");
    CHECK(run_begin(room, orders, thursday) == at("2026-11-26T22:00"));
    // Due while the night of Wednesday lasts: that night is meant.
    orders[0].due = at("2026-11-26T05:00");
    CHECK(run_begin(room, orders, thursday) == at("2026-11-26T00:00"));
    // Due at 14:00: it can be made in that night only.
    orders[0].due = at("2026-11-26T14:00");
    CHECK(run_begin(room, orders, thursday) == at("2026-11-26T00:00"));
    // Overdue on any count.
    orders[0].due = at("2026-11-25T05:00");
    CHECK(run_begin(room, orders, thursday) == at("2026-11-26T22:00"));
    // Nobody was there on Sunday night; nobody comes on Saturday.
    CHECK(run_begin(room, orders, date_of(at("2026-11-30T00:00"))) == at("2026-11-30T00:00"));
    CHECK(run_begin(room, orders, date_of(at("2026-11-28T00:00"))) == at("2026-11-28T00:00"));
    // Three shifts: the early one begins the day.
    Person early = room.people[0];
    early.shifts[0].from = hours(6);
    early.shifts[0].to = hours(14);
    room.people.push_back(early);
    CHECK(run_begin(room, orders, thursday) == at("2026-11-26T06:00"));
    // Absent the night before.
    room.people[0].absent = {date_of(at("2026-11-25T00:00"))};
    CHECK(run_begin(room, orders, thursday) == at("2026-11-26T00:00"));
}

TEST_CASE("the first due day is that of the earliest order", "[working-day]") {
    CHECK_FALSE(first_due_day({}));
    std::vector<Order> orders(2);
    orders[0].due = at("2026-11-27T09:00");
    orders[1].due = at("2026-11-26T16:00");
    CHECK(first_due_day(orders) == at("2026-11-26T00:00"));
}
