// The rows of the run sheets, against the plan's own operations.
#include <algorithm>
#include <filesystem>
#include <fstream>

#include "sched/report/plan/outputs.hpp"
#include "sched/report/plan/sheet_rows.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

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
        const std::vector<SheetRow> rows = person_rows(d, person.name);
        for (const SheetRow& row : rows) {
            seen.insert(seen.end(), row.operations.begin(), row.operations.end());
            CHECK(row.start <= row.till);
            for (int i : row.operations) {
                const OperationLine& op = d.operations[static_cast<std::size_t>(i)];
                CHECK(op.start >= row.start);
                CHECK(op.people_until.value_or(op.end) <= row.till);
                if (!op.screen.empty())
                    CHECK(std::count(row.tags.begin(), row.tags.end(), op.screen) == 1);
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

TEST_CASE("steps in one go are one row") {
    PlanDocument d;
    d.stations = {{.name = "sink"}, {.name = "stand"}};
    d.operations = {
        work("A1-1", "strip", "remover on A1-1", 0, 60),
        work("A1-1", "rinse", "rinse the stencil off A1-1", 120, 300),
        work("A1-12", "degrease", "degrease A1-12", 300, 540),
        work("A1-2", "degrease", "degrease A1-2", 540, 780),
        work("A1-2", "coat", "coat A1-2 (2+2)", 2000, 2200),  // too long after to be one visit
    };
    const auto rows = person_rows(d, "Ada");
    REQUIRE(rows.size() == 3);
    CHECK(rows[0].words == std::vector<std::string>{"remover on", "rinse the stencil off"});
    CHECK(rows[0].till == SimTime{} + Seconds{300});
    CHECK(rows[1].tags == std::vector<std::string>{"A1-12", "A1-2"});
    CHECK(rows[1].words == std::vector<std::string>{"degrease"});
    CHECK(rows[2].words == std::vector<std::string>{"coat (2+2)"});
    CHECK(station_rows(d, "sink").size() == 3);
    CHECK(station_rows(d, "stand").size() == 1);
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
