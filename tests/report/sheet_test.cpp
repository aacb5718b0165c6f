// The rows of the run sheets, against the plan's own operations.
#include <algorithm>
#include <filesystem>
#include <fstream>

#include "sched/report/plan/day_paper.hpp"
#include "sched/report/plan/outputs.hpp"
#include "sched/report/plan/paper.hpp"
#include "sched/report/plan/person_rows.hpp"
#include "sched/report/plan/replan_lines.hpp"
#include "sched/report/plan/sheet_rows.hpp"
#include "sched/report/plan/sheets.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched;
using namespace sched::report;

namespace {

OperationLine work(const char* screen, const char* step, const char* words, int from, int till) {
    OperationLine op;
    op.screen = screen;
    op.step = step;
    op.words = words;
    op.place = step == std::string("coat") ? "stand" : "sink";
    op.people = {"Ada"};
    op.start = SimTime{} + Seconds{from};
    op.work_end = op.end = SimTime{} + Seconds{till};
    return op;
}

}  // namespace

TEST_CASE("every operation stands in one row of each of its people's sheets") {
    const PlanDocument d = fixture::document();
    for (const PersonLine& person : d.people) {
        std::vector<int> seen;
        for (const PersonRow& row : person_rows(d, person.name)) {
            seen.insert(seen.end(), row.operations.begin(), row.operations.end());
            CHECK(row.start <= row.till);
            CHECK(row.pause == row.operations.empty());
            for (int i : row.operations) {
                const OperationLine& op = d.operations[static_cast<std::size_t>(i)];
                CHECK(op.start >= row.start);
                CHECK(op.people_until.value_or(op.end) <= row.till);
                // Its screen has a box in the row; what is no carrying is at the row's place.
                CHECK(std::any_of(row.parts.begin(), row.parts.end(), [&](const SheetPart& part) {
                    return op.screen.empty() ||
                           std::count(part.tags.begin(), part.tags.end(), op.screen) == 1;
                }));
                if (op.step != "take-out" && op.step != "put-in")
                    CHECK(std::count(row.places.begin(), row.places.end(), op.place) == 1);
                for (const std::string& who : op.people) {
                    if (who != person.name)
                        CHECK(std::count(row.partners.begin(), row.partners.end(), who) == 1);
                }
            }
        }
        std::sort(seen.begin(), seen.end());
        std::vector<int> expected;
        for (std::size_t i = 0; i < d.operations.size(); ++i) {
            const auto& who = d.operations[i].people;
            if (std::count(who.begin(), who.end(), person.name) > 0)
                expected.push_back(static_cast<int>(i));
        }
        CHECK(seen == expected);
    }
    for (const StationLine& station : d.stations) {
        std::size_t in_rows = 0;
        for (const SheetRow& row : station_rows(d, station.name))
            in_rows += row.operations.size();
        const auto here =
            std::count_if(d.operations.begin(), d.operations.end(), [&](const OperationLine& op) {
                return op.step != "take-out" && op.step != "put-in" &&
                       (op.place == station.name ||
                        std::count(op.also_at.begin(), op.also_at.end(), station.name) > 0);
            });
        CHECK(static_cast<std::ptrdiff_t>(in_rows) == here);
    }
}

TEST_CASE("work in one go at one place is one row, and what follows on a screen is said once") {
    PlanDocument d;
    d.stations = {{.name = "sink"}, {.name = "stand"}};
    d.operations = {
        work("A1-1", "strip", "remover on A1-1", 0, 60),
        work("A1-1", "rinse", "rinse the stencil off A1-1", 120, 300),
        work("A1-12", "degrease", "degrease A1-12", 300, 540),
        work("A1-2", "degrease", "degrease A1-2", 540, 780),
        work("A1-2", "coat", "coat A1-2 (2+2)", 2000, 2200),
    };
    const auto rows = person_rows(d, "Ada");
    REQUIRE(rows.size() == 2);
    REQUIRE(rows[0].parts.size() == 2);
    CHECK(rows[0].parts[0].words == "remover on, rinse");
    CHECK(rows[0].parts[0].tags == std::vector<std::string>{"A1-1"});
    CHECK(rows[0].parts[1].words == "degrease");
    CHECK(rows[0].parts[1].tags == std::vector<std::string>{"A1-12", "A1-2"});
    CHECK(rows[0].till == SimTime{} + Seconds{780});
    CHECK(rows[0].to == std::vector<std::string>{"stand"});
    CHECK(rows[1].parts[0].words.starts_with("coat (2+2)"));
    CHECK(rows[1].from == std::vector<std::string>{"sink"});
    CHECK(station_rows(d, "sink").size() == 3);
    CHECK(station_rows(d, "stand").size() == 1);
}

TEST_CASE("a break is a row, and nothing joins across it") {
    PlanDocument d;
    d.operations = {work("A1-1", "degrease", "degrease A1-1", 0, 60),
                    work("A1-2", "degrease", "degrease A1-2", 120, 180)};
    CHECK(person_rows(d, "Ada").size() == 1);
    d.breaks = {{.person = "Ada", .from = SimTime{} + Seconds{60}, .to = SimTime{} + Seconds{120}}};
    const auto rows = person_rows(d, "Ada");
    REQUIRE(rows.size() == 3);
    CHECK(rows[1].pause);
    CHECK_FALSE(rows[2].pause);
}

TEST_CASE("from the middle of the day nobody has what hands were done with before") {
    PlanDocument d;
    d.operations = {work("A1-1", "take-out", "take out A1-1", 0, 60),
                    work("A1-2", "degrease", "degrease A1-2", 1900, 2200)};
    d.operations[0].people_until = SimTime{} + Seconds{60};
    d.operations[0].end = SimTime{} + Seconds{2400};  // it stands on the rack
    d.people = {{.name = "Ada"}};
    CHECK(person_rows(d, "Ada").size() == 2);
    d.again = AgainSection{.now = SimTime{} + Seconds{2000}, .under_way = {0, 1}};
    const auto rows = person_rows(d, "Ada");
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].operations == std::vector<int>{1});
}

TEST_CASE("who comes back on the day on which the night ended has a line between") {
    // 22:00, 5:00 and, of the next night, 22:00 on one date: Thursday stands twice.
    PlanDocument d;
    const auto hour = [](int h) { return 3600 * h; };
    d.operations = {work("A1-1", "degrease", "degrease A1-1", hour(22), hour(22) + 300),
                    work("A1-2", "degrease", "degrease A1-2", hour(29), hour(29) + 300),
                    work("A1-3", "degrease", "degrease A1-3", hour(46), hour(46) + 300)};
    d.people = {{.name = "Ada"}};
    d.run.first_start = d.operations.front().start;
    d.run.last_end = d.operations.back().end;
    const auto days = [&] {
        const std::string page = to_sheets(d);
        int n = 0;
        for (auto at = page.find("class=\"day\""); at != std::string::npos;
             at = page.find("class=\"day\"", at + 1))
            ++n;
        return n;
    };
    CHECK(days() == 2);
    // Five hours later on the same date: somebody had little to do.
    d.operations[2].start -= model::hours(12);
    d.operations[2].work_end = d.operations[2].end -= model::hours(12);
    CHECK(days() == 1);
}

TEST_CASE("a limit of hours stands on the sheet where little is left of it") {
    PlanDocument d;
    const int hour = 3600;
    d.operations = {work("A1-1", "dry-mesh", "dry the mesh A1-1", 0, hour),
                    work("A1-1", "coat", "coat A1-1", 2 * hour, 2 * hour + 240)};
    d.operations[0].people.clear();
    // Four hours from dry, at 01:00: until 05:00, and at 02:00 that is far.
    d.problem.constraints.push_back(core::TimeLag{.from = core::OperationId(0),
                                                  .edge = core::Edge::WorkEnd,
                                                  .to = core::OperationId(1),
                                                  .max = Seconds{4 * hour}});
    CHECK(person_rows(d, "Ada")[0].parts[0].by.empty());
    for (auto* t : {&d.operations[1].start, &d.operations[1].work_end, &d.operations[1].end})
        *t += Seconds{2 * hour};
    CHECK(person_rows(d, "Ada")[0].parts[0].by == "by 05:00");
}

TEST_CASE("a limit stands beside the step that it hurries, in the minute that it lies in") {
    PlanDocument d;
    d.operations = {work("A1-1", "strip", "remover on A1-1", 0, 90),
                    work("A1-1", "rinse", "rinse the stencil off A1-1", 300, 540)};
    // Somebody else rinses; five minutes from the end of the remover: 90 s + 300 s = 6.5 min.
    d.operations[1].people = {"Ben"};
    d.problem.constraints.push_back(core::TimeLag{
        .from = core::OperationId(0), .to = core::OperationId(1), .max = Seconds{300}});
    CHECK(person_rows(d, "Ada")[0].parts[0].by == "rinse by 00:06");
    CHECK(person_rows(d, "Ben")[0].parts[0].by == "by 00:06");
    // What comes before on the same screen is not hurried.
    d.operations.push_back(work("A1-1", "ink-off", "ink off A1-1", -300, -150));
    d.operations.push_back(work("A1-2", "ink-off", "ink off A1-2", -150, 0));
    CHECK(person_rows(d, "Ada")[0].parts[0].words == "ink off");
    CHECK(person_rows(d, "Ada")[0].parts[0].by.empty());
    CHECK(person_rows(d, "Ada")[0].parts[1].by == "rinse by 00:06");
    d.operations.resize(2);
    // In one row of one person it is the next thing to do.
    d.operations[1].people = {"Ada"};
    CHECK(person_rows(d, "Ada")[0].parts[0].by.empty());
}

TEST_CASE("a step that uses its limit up to the second is not told to begin after it") {
    PlanDocument d;
    // Remover on from 9:22:41, rinsed from 9:27:41, five minutes later: shown as 9:23 and 9:28.
    const int nine = 9 * 3600 + 22 * 60 + 41;
    d.operations = {work("A1-1", "strip", "remover on A1-1", nine, nine + 90),
                    work("A1-1", "rinse", "rinse the stencil off A1-1", nine + 300, nine + 540)};
    d.operations[1].people = {"Ben"};
    d.problem.constraints.push_back(core::TimeLag{.from = core::OperationId(0),
                                                  .edge = core::Edge::Start,
                                                  .to = core::OperationId(1),
                                                  .max = Seconds{300}});
    CHECK(person_rows(d, "Ada")[0].parts[0].by == "rinse by 09:28");
    CHECK(person_rows(d, "Ben")[0].parts[0].by == "by 09:28");
}

TEST_CASE("screens that share an exposure are one part") {
    PlanDocument d;
    report::ScreenLine screen;
    screen.exposure = Seconds{118};
    for (const char* tag : {"A1-1", "A1-2"}) {
        screen.tag = tag;
        d.screens.push_back(screen);
        d.operations.push_back(work(tag, "expose", "load the unit with", 0, 120));
    }
    for (const char* tag : {"A1-1", "A1-2"})
        d.operations.push_back(work(tag, "expose", "take from the unit", 240, 300));
    const auto rows = person_rows(d, "Ada");
    REQUIRE(rows.size() == 1);
    REQUIRE(rows[0].parts.size() == 1);
    CHECK(rows[0].parts[0].words == "expose 118 s");
    CHECK(rows[0].parts[0].tags.size() == 2);
}

TEST_CASE("screens that are taken along to the next place stay in the row") {
    PlanDocument d;
    d.operations = {work("A1-1", "expose", "take from the unit", 0, 60),
                    work("A1-1", "wash-out", "wash out A1-1", 60, 300),
                    work("A1-2", "wash-out", "wash out A1-2", 300, 540)};
    d.operations[0].place = "unit";
    const auto rows = person_rows(d, "Ada");
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].places == std::vector<std::string>{"unit", "sink"});
    CHECK(rows[0].parts[0].words == "unload");
    CHECK(rows[0].parts[1].tags == std::vector<std::string>{"A1-1", "A1-2"});
}

TEST_CASE("rows are dealt to pages by their heights") {
    using paper::pages_of;
    const std::vector<double> rows(10, 10.0);
    CHECK(pages_of(rows, 100, 100).size() == 1);
    CHECK(pages_of(rows, 99, 100) ==
          std::vector<std::pair<std::size_t, std::size_t>>{{0, 9}, {9, 10}});
    CHECK(pages_of(rows, 35, 35).size() == 4);
    CHECK(pages_of({}, 35, 35).size() == 1);
    // "aaaa aaaa" in a column of one and a half words: two lines.
    std::vector<double> words;
    paper::add_words(words, "aaaa aaaa");
    CHECK(paper::lines_of(words, paper::width_of("aaaaaa")) == 2);
    CHECK(paper::lines_of(words, paper::width_of("aaaa aaaa")) == 1);
}

TEST_CASE("a calendar of a person who left goes, a stranger's file stays") {
    const auto folder = std::filesystem::temp_directory_path() / "coatroom-stale-calendars";
    std::filesystem::remove_all(folder);
    REQUIRE(write_outputs(fixture::document(), folder).errors.empty());
    std::ofstream(folder / "plan-own.ics") << "BEGIN:VCALENDAR\r\nPRODID:-//mine//EN\r\n";
    PlanDocument d = fixture::document();
    const std::string gone = "plan-ada.ics";
    REQUIRE(std::filesystem::exists(folder / gone));
    d.people.erase(std::find_if(d.people.begin(), d.people.end(),
                                [](const PersonLine& p) { return p.name == "Ada"; }));
    REQUIRE(write_outputs(d, folder).errors.empty());
    CHECK_FALSE(std::filesystem::exists(folder / gone));
    CHECK(std::filesystem::exists(folder / "plan-own.ics"));
    CHECK(std::filesystem::exists(folder / "plan.ics"));
    std::filesystem::remove_all(folder);
}

TEST_CASE("the paper timeline: four hours a page, every operation on it once a lane",
          "[sheets][paper]") {
    const PlanDocument d = fixture::document();
    const auto windows = paper_windows(d);
    REQUIRE_FALSE(windows.empty());
    for (std::size_t i = 0; i < windows.size(); ++i) {
        CHECK(windows[i].time_since_epoch() % Seconds{3600} == Seconds{0});
        if (i > 0) CHECK(windows[i] - windows[i - 1] >= model::hours(4));
    }
    for (const OperationLine& op : d.operations) {  // whoever works stands on a page
        if (op.people.empty()) continue;
        CHECK(std::any_of(windows.begin(), windows.end(), [&](SimTime from) {
            return op.start >= from && op.start < from + model::hours(4);
        }));
    }
    for (const PaperLane& lane : paper_lanes(d)) {
        if (lane.rows.empty()) {  // a curve: as many taken at the end as at the start
            REQUIRE_FALSE(lane.taken.empty());
            CHECK(lane.taken.back().second == 0);
            continue;
        }
        int count = 0, expected = 0;
        for (const auto& row : lane.rows) {
            for (std::size_t i = 0; i < row.size(); ++i) {
                count += row[i].count;
                if (i > 0) CHECK(row[i].from >= row[i - 1].to);
            }
        }
        for (const OperationLine& op : d.operations) {
            if (lane.person)
                expected += std::count(op.people.begin(), op.people.end(), lane.name) > 0;
            else
                expected += op.place == lane.name ||
                            std::count(op.also_at.begin(), op.also_at.end(), lane.name) > 0;
        }
        // Carrying goes into the runs of what it is between.
        CHECK(count <= expected);
        CHECK(count > 0);
    }
    const std::string page = to_day_paper(d);
    std::size_t sections = 0;
    for (auto at = page.find("<section class=\"page day\""); at != std::string::npos;
         at = page.find("<section class=\"page day\"", at + 1))
        ++sections;
    CHECK(sections == windows.size());  // so small a room fits one page a window
    CHECK(page.find("page 1 of " + std::to_string(sections)) != std::string::npos);
}

TEST_CASE("steps of one kind that are narrow on paper are one bar with their number",
          "[sheets][paper]") {
    PlanDocument d;
    d.people.push_back({.name = "Ada"});
    d.run.first_start = SimTime{} + model::hours(6);
    // Three coats of a minute with the carrying between them, then twenty minutes of another step.
    for (int i = 0; i < 3; ++i) {
        OperationLine coat = work("A1-1", "coat", "coat A1-1", 21600 + 120 * i, 21660 + 120 * i);
        coat.screen = "A1-" + std::to_string(i + 1);
        OperationLine carry = work("A1-1", "put-in", "set aside", 21660 + 120 * i, 21720 + 120 * i);
        carry.screen = coat.screen;
        d.operations.push_back(coat);
        d.operations.push_back(carry);
    }
    d.operations.push_back(work("A2-1", "wash-out", "wash out A2-1", 22000, 23200));
    const auto lanes = paper_lanes(d);
    REQUIRE(lanes.size() == 1);
    REQUIRE(lanes[0].rows.size() == 1);
    REQUIRE(lanes[0].rows[0].size() == 2);
    CHECK(lanes[0].rows[0][0].step == "coat");
    CHECK(lanes[0].rows[0][0].count == 3);
    CHECK(lanes[0].rows[0][0].tags == std::vector<std::string>{"A1-1", "A1-2", "A1-3"});
    CHECK(lanes[0].rows[0][0].to == SimTime{} + Seconds{21960});
    CHECK(lanes[0].rows[0][1].step == "wash out");
    CHECK(paper_windows(d) == std::vector<SimTime>{SimTime{} + model::hours(6)});
}

TEST_CASE("a screen that has failed is done again, not moved to later", "[report]") {
    // Planned for an hour before now, and now half an hour from now.
    auto document = fixture::document();
    core::Problem problem = fixture::room().problem;
    std::size_t k = 0;
    while (document.operations[k].screen.empty() || document.operations[k].people.empty())
        ++k;
    const auto now = document.run.first_start + model::hours(5);
    problem.now = now;
    search::Replan replan;
    replan.changes = {{.operation = core::OperationId{k},
                       .old_start = now - model::hours(1),
                       .new_start = now + model::minutes(30),
                       .old_chosen = {},
                       .new_chosen = {}}};
    const search::EarlierPlan earlier;
    report::AgainFacts facts{.earlier = &earlier, .replan = &replan, .notes = {}, .failed = {}};
    report::add_again(problem, facts, document);
    const std::string& words = document.operations[k].words;
    CHECK(document.again->changes[0].words.rfind(words + " moves from ", 0) == 0);
    facts.failed = {document.operations[k].screen};
    report::add_again(problem, facts, document);
    CHECK(document.again->changes[0].words.rfind(words + " is done again, at ", 0) == 0);
    CHECK(document.again->changes[0].words.find("(first at ") != std::string::npos);
    // What had not begun by now is only moved.
    replan.changes[0].old_start = now + model::minutes(10);
    report::add_again(problem, facts, document);
    CHECK(document.again->changes[0].words.rfind(words + " moves from ", 0) == 0);
}
