// From marks to the words of state.yaml: what is as planned is not told.

#include "sched/journal/present.hpp"

#include "tests/catch.hpp"

namespace {

using namespace sched::journal;
using model::Step;

SimTime plan_day(const std::string& clock) {
    return *model::parse_date_time("2026-11-26T" + clock);
}

const std::vector<Way> ways{{"A1-1",
                             {{"strip", 1, plan_day("09:00"), plan_day("09:05"), "sink", "Ada"},
                              {"degrease", 1, plan_day("09:05"), plan_day("09:10"), "sink", "Ada"},
                              {"dry-mesh", 1, plan_day("09:10"), plan_day("09:40"), "cabinet", ""},
                              {"coat", 1, plan_day("09:45"), plan_day("09:50"), "stand", "Ben"}}}};

Entry entry(std::int64_t id, const std::string& clock, Mark mark, const std::string& step = {},
            const std::string& what = "A1-1") {
    return {.id = id,
            .time = plan_day(clock),
            .entered = plan_day(clock),
            .mark = mark,
            .what = what,
            .step = step};
}

model::RoomState state(const std::vector<Entry>& entries, const std::string& now,
                       std::int64_t seen = 0, std::optional<SimTime> seen_now = {}) {
    return present(
        entries, ways,
        {.from = plan_day("00:00"), .now = plan_day(now), .seen = seen, .seen_now = seen_now});
}

}  // namespace

TEST_CASE("what is marked as planned is not told", "[journal]") {
    const std::vector<Entry> marks{
        entry(1, "09:00", Mark::Start, "strip"), entry(2, "09:05", Mark::Done, "strip"),
        entry(3, "09:05", Mark::Start, "degrease"), entry(4, "09:10", Mark::Done, "degrease")};
    CHECK(state(marks, "09:07").screens.empty());
    CHECK(state(marks, "09:20").screens.empty());  // degreased and so hung up, as planned
    // The coat that the plan has begun by then was not marked: it still dries.
    const auto later = state(marks, "09:48");
    REQUIRE(later.screens.size() == 1);
    CHECK(later.screens[0].in == std::vector{Step::DryMesh});
    CHECK(later.screens[0].since == model::hours(9) + model::minutes(10));
}

TEST_CASE("wet, and on its way to the cabinet by the plan as well, is not told", "[journal]") {
    std::vector<Way> carried = ways;
    carried[0].steps[2].start = plan_day("09:13");  // somebody brings something else there first
    const std::vector<Entry> marks{entry(1, "09:10", Mark::Done, "degrease")};
    const auto told = [&](const std::string& now) {
        return present(marks, carried, {.from = plan_day("00:00"), .now = plan_day(now)}).screens;
    };
    CHECK(told("09:12").empty());
    // By the plan it was to hang later than it did.
    REQUIRE(told("09:20").size() == 1);
    CHECK(told("09:20")[0].in == std::vector{Step::DryMesh});
}

TEST_CASE("nobody marks carrying: what is dry is taken out as planned, or then", "[journal]") {
    std::vector<Way> carried = ways;
    carried[0].steps[2].out = plan_day("09:42");
    carried[0].steps[2].out_by = plan_day("09:44");
    const auto told = [&](const std::string& dry, const std::string& now) {
        const std::vector<Entry> marks{entry(1, dry, Mark::Done, "dry-mesh")};
        const auto s =
            present(marks, carried, {.from = plan_day("00:00"), .now = plan_day(now)}).screens;
        REQUIRE(s.size() == 1);
        return s[0];
    };
    CHECK(told("09:36", "09:41").done == std::vector{Step::DryMesh});
    CHECK(told("09:36", "09:43").in == std::vector{Step::TakeOut});
    CHECK(told("09:36", "09:43").since == model::hours(9) + model::minutes(42));
    CHECK(told("09:36", "09:50").done == std::vector{Step::TakeOut});
    CHECK(told("09:36", "09:50").since == model::hours(9) + model::minutes(44));
    // Dry only after the plan has taken it out: as soon as that.
    CHECK(told("09:43", "09:50").done == std::vector{Step::TakeOut});
    CHECK(told("09:43", "09:50").since == model::hours(9) + model::minutes(45));
    CHECK(told("09:43", "09:44").in == std::vector{Step::TakeOut});
}

TEST_CASE("the last mark says where a screen is", "[journal]") {
    auto s = state({entry(1, "09:07", Mark::Start, "strip")}, "09:09").screens;
    REQUIRE(s.size() == 1);
    CHECK(s[0].in == std::vector{Step::Strip});
    CHECK(s[0].at.empty());
    s = state({entry(1, "09:12", Mark::Done, "strip")}, "09:20").screens;
    REQUIRE(s.size() == 1);
    CHECK(s[0].done == std::vector{Step::Strip});
    // Elsewhere and by somebody else than planned.
    Entry coat = entry(1, "09:45", Mark::Start, "coat");
    coat.station = "stand 2";
    coat.person = "Ada";
    s = state({coat}, "09:47").screens;
    REQUIRE(s.size() == 1);
    CHECK(s[0].at == "stand 2");
    CHECK(s[0].by == "Ada");
    // Not in a cabinet that is out of work.
    s = state({entry(1, "09:00", Mark::Down, "", "cabinet"),
               entry(2, "09:12", Mark::Done, "degrease")},
              "09:20")
            .screens;
    REQUIRE(s.size() == 1);
    CHECK(s[0].done == std::vector{Step::Degrease});
}

TEST_CASE("a remake goes back as far as it must, or as it says", "[journal]") {
    auto s =
        state({entry(1, "09:50", Mark::Done, "coat"), entry(2, "09:52", Mark::Remake)}, "10:00")
            .screens;
    REQUIRE(s.size() == 1);
    CHECK(s[0].back_to == std::vector{Step::Strip});
    CHECK(s[0].failed);
    s = state({entry(1, "09:52", Mark::Remake, "degrease")}, "10:00").screens;
    CHECK(s[0].back_to == std::vector{Step::Degrease});
    s = state({entry(1, "09:52", Mark::Remake), entry(2, "09:55", Mark::Start, "strip")}, "10:00")
            .screens;
    CHECK(s[0].in == std::vector{Step::Strip});
}

TEST_CASE("what the posted plan took account of is not told again", "[journal]") {
    std::vector<Entry> marks{entry(1, "09:52", Mark::Remake)};
    CHECK(state(marks, "10:30", 1, plan_day("10:00")).screens.empty());
    CHECK(state(marks, "10:30", 0).screens.size() == 1);
    // Entered after the plan was made, of a time before it.
    marks.push_back(entry(2, "09:58", Mark::Start, "strip"));
    REQUIRE(state(marks, "10:30", 1, plan_day("10:00")).screens.size() == 1);
    // Known to the plan and taken back since: not begun after all.
    std::vector<Entry> undone{entry(1, "09:01", Mark::Start, "strip"),
                              entry(2, "10:05", Mark::Undo)};
    undone[1].undoes = 1;
    const auto s = state(undone, "10:30", 1, plan_day("10:00")).screens;
    REQUIRE(s.size() == 1);
    CHECK(s[0].back_to == std::vector{Step::Strip});
    CHECK_FALSE(s[0].failed);  // it was never begun
    CHECK(state(undone, "10:30").screens.empty());
}

// The board plans from 9:52 on what was touched at 9:52:20, five seconds after the last mark.
TEST_CASE("what is marked in the minute of the plan has happened", "[journal]") {
    const std::vector<Entry> marks{entry(1, "09:52:20", Mark::Remake),
                                   entry(2, "09:52:30", Mark::Empty, "", "blue 1"),
                                   entry(3, "09:52:40", Mark::Absent, "", "Ada")};
    const auto now = state(marks, "09:52");
    REQUIRE(now.screens.size() == 1);
    CHECK(now.screens[0].failed);
    REQUIRE(now.pots.size() == 1);
    CHECK(now.pots[0].empty == model::hours(9) + model::minutes(52));
    REQUIRE(now.people.size() == 1);
    CHECK(now.people[0].from == model::hours(9) + model::minutes(52));
    // That plan knew it, so the next is not told again; of the next minute it knew nothing.
    CHECK(state(marks, "10:30", 3, plan_day("09:52")).screens.empty());
    CHECK(state({entry(1, "09:53", Mark::Remake)}, "09:52").screens.empty());
    CHECK(state({entry(1, "09:53", Mark::Remake)}, "10:30", 1, plan_day("09:52")).screens.size() ==
          1);
}

TEST_CASE("who went is told from when on, unless the posted plan knew", "[journal]") {
    const std::vector<Entry> gone{entry(1, "09:40", Mark::Absent, "", "Ada")};
    CHECK(state(gone, "10:30").people[0].from == model::hours(9) + model::minutes(40));
    // It was made at 10:00 and knew: what it has begun with her has begun.
    CHECK_FALSE(state(gone, "10:30", 1, plan_day("10:00")).people[0].from);
    // It did not know; of what it took for begun nobody can say.
    CHECK(state(gone, "10:30", 0, plan_day("10:00")).people[0].from == model::hours(10));
    // Yesterday's: she is not there at all.
    auto before = gone;
    before[0].time -= std::chrono::days{1};
    const auto still = state(before, "10:30").people;
    CHECK((still.empty() || !still[0].from));
}

TEST_CASE("stations, people and films as they are and are announced", "[journal]") {
    const auto s = state(
        {entry(1, "09:00", Mark::Down, "", "cabinet"), entry(2, "11:00", Mark::Up, "", "cabinet"),
         entry(3, "09:00", Mark::Absent, "", "Ada"), entry(4, "13:00", Mark::Absent, "", "Ben"),
         entry(5, "09:30", Mark::Film, "", "A1"), entry(6, "12:30", Mark::Film, "", "A2")},
        "10:00");
    REQUIRE(s.stations.size() == 1);
    CHECK(s.stations[0].from == model::hours(9));
    CHECK(s.stations[0].until == model::hours(11));
    REQUIRE(s.people.size() == 2);
    CHECK(s.people[0].from == model::hours(9));
    CHECK(s.people[1].from == model::hours(13));
    REQUIRE(s.films.size() == 2);
    CHECK_FALSE(s.films[0].from);
    CHECK(s.films[1].from == model::hours(12) + model::minutes(30));
}

TEST_CASE("pots and frames: what happened last", "[journal]") {
    const auto s = state(
        {entry(1, "08:00", Mark::Empty, "", "blue 1"),
         entry(2, "09:00", Mark::Opened, "", "blue 1"),
         entry(3, "08:00", Mark::Opened, "", "blue 2"),
         entry(4, "09:00", Mark::Empty, "", "blue 2"),
         entry(5, "11:00", Mark::Empty, "", "pink 1"),  // not yet
         entry(6, "09:30", Mark::Returned, "", "R2"), entry(7, "12:30", Mark::Returned, "", "R3")},
        "10:00");
    REQUIRE(s.pots.size() == 2);
    CHECK(s.pots[0].pot == "blue 1");
    CHECK(s.pots[0].opened == model::hours(9));
    CHECK_FALSE(s.pots[0].empty);
    CHECK(s.pots[1].empty == model::hours(9));
    CHECK_FALSE(s.pots[1].opened);
    REQUIRE(s.returned.size() == 2);
    CHECK(s.returned[0].from == model::hours(9) + model::minutes(30));
    CHECK(s.returned[1].from == model::hours(12) + model::minutes(30));
}

TEST_CASE("where a mark is missing, no more are at a station than it has places", "[journal]") {
    const std::vector<Way> two{
        {"A1-1",
         {{"strip", 1, plan_day("09:00"), plan_day("09:05"), "sink", "Ada"},
          {"rinse", 1, plan_day("09:05"), plan_day("09:09"), "sink", "Ada"},
          {"degrease", 1, plan_day("09:30"), plan_day("09:35"), "sink", "Ada"},
          {"dry-mesh", 1, plan_day("09:36"), plan_day("10:00"), "cabinet", ""}}},
        {"A1-2",
         {{"strip", 1, plan_day("09:10"), plan_day("09:15"), "sink", "Ada"},
          {"rinse", 1, plan_day("09:15"), plan_day("09:19"), "sink", "Ada"}}}};
    const auto screens = [&](const std::vector<Entry>& entries, const std::string& now,
                             int places) {
        return present(
                   entries, two,
                   {.from = plan_day("00:00"), .now = plan_day(now), .places = {{"sink", places}}})
            .screens;
    };
    // The first is late; the second, of which nothing is marked, has not begun.
    auto s = screens({entry(1, "09:11", Mark::Start, "strip")}, "09:13", 1);
    REQUIRE(s.size() == 2);
    CHECK(s[0].in == std::vector{Step::Strip});
    CHECK(s[1].screen == "A1-2");
    CHECK(s[1].back_to == std::vector{Step::Strip});
    CHECK_FALSE(s[0].assumed);
    CHECK(s[1].assumed);
    CHECK(screens({entry(1, "09:11", Mark::Start, "strip")}, "09:13", 2).size() == 1);
    // Both are begun: the first has been rinsed since, and left.
    s = screens(
        {entry(1, "09:01", Mark::Start, "strip"), entry(2, "09:11", Mark::Start, "strip", "A1-2")},
        "09:13", 1);
    REQUIRE(s.size() == 2);
    CHECK(s[0].done == std::vector{Step::Rinse});
    CHECK(s[0].assumed);
    CHECK(s[0].since == model::hours(9) + model::minutes(11));
    CHECK(s[1].in == std::vector{Step::Strip});
    // What is wet then hangs.
    s = screens({entry(1, "09:03", Mark::Start, "degrease"),
                 entry(2, "09:11", Mark::Start, "strip", "A1-2")},
                "09:13", 1);
    REQUIRE(s.size() == 2);
    CHECK(s[0].in == std::vector{Step::DryMesh});
}

TEST_CASE("the step that a mark without one means", "[journal]") {
    const auto meant = [&](Mark mark, const std::string& clock,
                           const std::vector<Entry>& entries = {}) {
        const SoFar s = so_far(entries, plan_day("00:00"));
        const auto* step = meant_step(ways[0], s.screen("A1-1"), mark, plan_day(clock));
        return step == nullptr ? std::string("none") : step->step;
    };
    // By the plan's clock.
    CHECK(meant(Mark::Done, "09:07") == "degrease");
    CHECK(meant(Mark::Start, "08:50") == "strip");
    CHECK(meant(Mark::Done, "09:11") == "degrease");  // ended a minute ago; drying has just begun
    CHECK(meant(Mark::Done, "09:30") == "dry-mesh");
    CHECK(meant(Mark::Done, "09:42") == "coat");
    CHECK(meant(Mark::Done, "11:00") == "none");
    // By marks, whatever the clock says.
    const std::vector<Entry> begun{entry(1, "09:20", Mark::Start, "degrease")};
    CHECK(meant(Mark::Done, "10:30", begun) == "degrease");
    CHECK(meant(Mark::Start, "10:30", begun) == "dry-mesh");
    const std::vector<Entry> done{entry(1, "09:20", Mark::Done, "degrease")};
    CHECK(meant(Mark::Done, "09:21", done) == "dry-mesh");
    CHECK(meant(Mark::Dry, "09:21", done) == "dry-mesh");
    CHECK(meant(Mark::Dry, "09:21") == "dry-mesh");
    CHECK(meant(Mark::Dry, "10:00", {entry(1, "09:50", Mark::Done, "coat")}) == "none");
    CHECK(meant(Mark::Start, "10:00", {entry(1, "09:50", Mark::Remake, "degrease")}) == "degrease");
    CHECK(meant(Mark::Start, "10:00", {entry(1, "09:50", Mark::Remake)}) == "strip");
}
