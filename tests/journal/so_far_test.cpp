// What marks amount to, by hand: each case is a morning of a few marks.

#include "sched/journal/so_far.hpp"

#include "tests/catch.hpp"

namespace {

using namespace sched::journal;

SimTime mark_day(const std::string& clock) {
    return *model::parse_date_time("2026-11-26T" + clock);
}

const SimTime day = mark_day("00:00");

/// A day of marks, numbered as they are entered.
struct Day {
    std::vector<Entry> entries;
    Entry& add(const std::string& clock, Mark mark, const std::string& what,
               const std::string& step = {}, const std::string& by = {}) {
        entries.push_back({.id = static_cast<std::int64_t>(entries.size()) + 1,
                           .time = mark_day(clock),
                           .entered = mark_day(clock),
                           .mark = mark,
                           .what = what,
                           .step = step,
                           .by = by});
        return entries.back();
    }
    void undo(std::int64_t id) { add("12:00", Mark::Undo, "").undoes = id; }
};

}  // namespace

TEST_CASE("marks of a screen in the order in which things happened", "[journal]") {
    Day d;
    // The tablet without network sends the beginning after the end.
    d.add("09:20", Mark::Done, "A7-2", "coat", "AD");
    d.add("09:16", Mark::Start, "A7-2", "coat", "AD");
    d.add("09:12", Mark::Done, "A7-2", "degrease", "AD");
    d.add("09:50", Mark::Dry, "A7-2", "dry-coat");
    const SoFar s = so_far(d.entries, day);
    REQUIRE(s.screen("A7-2") != nullptr);
    const auto& steps = s.screen("A7-2")->steps;
    REQUIRE(steps.size() == 3);
    CHECK(steps[0].step == "degrease");
    CHECK(steps[1].step == "coat");
    CHECK(steps[1].start == mark_day("09:16"));
    CHECK(steps[1].done == mark_day("09:20"));
    CHECK(steps[2].done == mark_day("09:50"));
    CHECK(s.contradictions.empty());
    // What has not happened by then is not there.
    CHECK(so_far(d.entries, day, mark_day("09:18")).screen("A7-2")->steps.size() == 2);
    CHECK(so_far(d.entries, mark_day("10:00")).screens.empty());
}

TEST_CASE("a remake begins the screen again", "[journal]") {
    Day d;
    d.add("09:20", Mark::Done, "A7-2", "inspect");
    d.add("09:20", Mark::Remake, "A7-2").reason = "pinhole";
    SoFar s = so_far(d.entries, day);
    CHECK(s.screens[0].steps.empty());
    CHECK(s.screens[0].remake->reason == "pinhole");
    CHECK(s.screens[0].remakes == 1);
    d.add("09:40", Mark::Start, "A7-2", "strip");
    s = so_far(d.entries, day);
    REQUIRE(s.screens[0].steps.size() == 1);
    CHECK(s.screens[0].steps[0].step == "strip");
    d.add("10:40", Mark::Done, "A7-2", "inspect");  // the second time is no contradiction
    CHECK(so_far(d.entries, day).contradictions.empty());
}

TEST_CASE("contradictions are kept, told and settled by a later mark", "[journal]") {
    SECTION("done twice") {
        Day d;
        d.add("09:20", Mark::Done, "A7-2", "coat", "AD");
        d.add("09:25", Mark::Done, "A7-2", "coat", "BK");
        SoFar s = so_far(d.entries, day);
        REQUIRE(s.contradictions.size() == 1);
        CHECK(s.contradictions[0].entries == std::vector<std::int64_t>{1, 2});
        CHECK(s.contradictions[0].settled_by == 0);
        CHECK(s.contradictions[0].words ==
              "A7-2 coat is marked done twice, at 09:20 by AD (entry 1) and at 09:25 by BK (entry "
              "2)");
        CHECK(s.screens[0].steps[0].done == mark_day("09:25"));  // entered last
        SECTION("a later mark of the screen") {
            d.add("09:30", Mark::Start, "A7-2", "dry-coat");
            CHECK(so_far(d.entries, day).contradictions[0].settled_by == 3);
        }
        SECTION("one is taken back") {
            d.undo(2);
            CHECK(so_far(d.entries, day).contradictions.empty());
            CHECK(so_far(d.entries, day).screens[0].steps[0].done == mark_day("09:20"));
        }
        SECTION("another screen does not settle it") {
            d.add("09:30", Mark::Start, "A7-3", "dry-coat");
            CHECK(so_far(d.entries, day).contradictions[0].settled_by == 0);
        }
    }
    SECTION("done twice, sent in the wrong order: the one entered last counts") {
        Day d;
        d.add("09:25", Mark::Done, "A7-2", "coat", "BK");
        d.add("09:20", Mark::Done, "A7-2", "coat", "AD");
        const SoFar s = so_far(d.entries, day);
        CHECK(s.contradictions.size() == 1);
        CHECK(s.screens[0].steps[0].done == mark_day("09:20"));
    }
    SECTION("done before it began") {
        Day d;
        d.add("09:20", Mark::Done, "A7-2", "coat");
        d.add("09:30", Mark::Start, "A7-2", "coat");
        const SoFar s = so_far(d.entries, day);
        REQUIRE(s.contradictions.size() == 1);
        CHECK(s.contradictions[0].words.find("begun later") != std::string::npos);
        CHECK_FALSE(s.screens[0].steps[0].done);  // entered last: it is under way
    }
    SECTION("two people at one screen") {
        Day d;
        d.add("09:20", Mark::Start, "A7-2", "coat", "AD");
        d.add("09:21", Mark::Start, "A7-2", "expose", "BK");
        d.add("09:30", Mark::Start, "A7-3", "coat", "AD");
        d.add("09:31", Mark::Start, "A7-3", "expose", "AD");  // the same: coat is over
        const SoFar s = so_far(d.entries, day);
        REQUIRE(s.contradictions.size() == 1);
        CHECK(s.contradictions[0].words.find("two people at one screen") == 0);
    }
    SECTION("nobody is at a screen that dries") {
        Day d;
        d.add("09:20", Mark::Start, "A7-2", "dry-coat", "AD");
        d.add("09:50", Mark::Start, "A7-2", "expose", "BK");
        CHECK(so_far(d.entries, day).contradictions.empty());
    }
    SECTION("in a station that is out of work, by somebody who is not there") {
        Day d;
        d.add("09:00", Mark::Down, "cabinet 2");
        d.add("09:00", Mark::Absent, "Ada");
        Entry& e = d.add("09:20", Mark::Start, "A7-2", "coat");
        e.station = "cabinet 2";
        e.person = "Ada";
        const SoFar s = so_far(d.entries, day);
        REQUIRE(s.contradictions.size() == 2);
        CHECK(s.contradictions[0].words.find("out of work") != std::string::npos);
        CHECK(s.contradictions[1].words.find("not there") != std::string::npos);
        d.entries[2].time = mark_day("08:59");
        CHECK(so_far(d.entries, day).contradictions.empty());
    }
    SECTION("felt dry and taken out later are two things") {
        Day d;
        d.add("09:20", Mark::Dry, "A7-2", "dry-coat");
        d.add("09:30", Mark::Done, "A7-2", "dry-coat");
        CHECK(so_far(d.entries, day).contradictions.empty());
        CHECK(so_far(d.entries, day).screens[0].steps[0].done == mark_day("09:30"));
    }
}

TEST_CASE("who and what is not there, till when, and what has come", "[journal]") {
    Day d;
    d.add("09:00", Mark::Down, "cabinet 2");
    d.add("09:30", Mark::Up, "cabinet 2");
    d.add("10:00", Mark::Down, "cabinet 2").reason = "fan";
    d.add("12:30", Mark::Up, "cabinet 2");  // announced
    d.add("10:05", Mark::Absent, "Ada");
    d.add("10:10", Mark::Film, "A9");
    d.add("13:00", Mark::Film, "A10");
    d.add("14:00", Mark::Film, "A10");  // later still
    d.add("10:20", Mark::Empty, "blue 1");
    const SoFar s = so_far(d.entries, day, mark_day("10:40"));
    REQUIRE(s.stations.size() == 1);
    CHECK(s.stations[0].from == mark_day("10:00"));
    CHECK(s.stations[0].until == mark_day("12:30"));
    CHECK(s.stations[0].reason == "fan");
    REQUIRE(s.people.size() == 1);
    CHECK_FALSE(s.people[0].until);
    REQUIRE(s.things.size() == 3);
    CHECK(s.things[0].name == "A10");
    CHECK(s.things[0].time == mark_day("14:00"));
    CHECK(s.things[2].mark == Mark::Empty);
    // A station that failed yesterday and works no more is out of work today; somebody who was
    // away yesterday is asked for anew.
    const SoFar next = so_far(d.entries, mark_day("12:00") + std::chrono::hours{24},
                              mark_day("13:00") + std::chrono::hours{24});
    CHECK(next.stations.empty());
    d.undo(4);
    CHECK(so_far(d.entries, mark_day("12:00") + std::chrono::hours{24}).stations.size() == 1);
    CHECK(so_far(d.entries, mark_day("12:00") + std::chrono::hours{24}).people.empty());
}
