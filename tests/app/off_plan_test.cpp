// When a day has left its plan, what a new plan changes, and changes of files for one day.

#include "sched/app/parts/off_plan.hpp"

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "model/read/scenario.hpp"
#include "sched/app/parts/day_change.hpp"
#include "sched/app/parts/plan_difference.hpp"
#include "sched/report/document/plan_json.hpp"
#include "tests/catch.hpp"

using namespace sched;

namespace {

std::string whole(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

report::PlanDocument golden_plan() {
    model::Diagnostics diagnostics;
    return *report::plan_from_json(whole(COATROOM_SOURCE "/tests/golden/plan.json"), diagnostics);
}

model::SimTime moment(const char* text) {
    return *model::parse_date_time(std::string("2026-11-26T") + text);
}

journal::Entry entry(std::int64_t id, journal::Mark mark, const char* what, const char* at,
                     const char* step = "", const char* station = "") {
    return {.id = id,
            .time = moment(at),
            .entered = moment(at),
            .mark = mark,
            .what = what,
            .step = step,
            .station = station};
}

// First row of the golden plan that is this step of A1-1.
const report::OperationLine& row_of_step(const report::PlanDocument& plan, const char* step) {
    for (const auto& o : plan.operations) {
        if (o.screen == "A1-1" && o.step == step) return o;
    }
    FAIL("the golden plan has no such step");
    return plan.operations.front();
}

std::vector<std::string> words(const std::vector<app::OffPlan>& causes) {
    std::vector<std::string> out;
    for (const auto& c : causes)
        out.push_back(c.words);
    return out;
}

}  // namespace

TEST_CASE("what is new since the plan asks for another", "[board][again]") {
    const auto plan = golden_plan();
    const std::vector<journal::Entry> entries = {
        entry(1, journal::Mark::Posted, "plan", "05:50"),
        entry(2, journal::Mark::Down, "Cabinet <1>", "07:00"),
        entry(3, journal::Mark::Remake, "A1-1", "07:05"),
        entry(4, journal::Mark::Film, "A1", "06:30"),  // is there: no news
        entry(5, journal::Mark::Film, "A1", "08:30"),  // comes late
        entry(6, journal::Mark::Absent, "Ada", "07:06")};
    const auto causes = app::off_plan(plan, entries, 1, moment("00:00"), moment("07:10"));
    CHECK(words(causes) ==
          std::vector<std::string>{"Cabinet <1> is out of work since 07:00", "A1-1 is made again",
                                   "the film of A1 comes at 08:30", "Ada is not here since 07:06"});
    // A plan that was made after them has settled them.
    CHECK(app::off_plan(plan, entries, 6, moment("00:00"), moment("07:10")).empty());
    auto undone = entries;
    undone.push_back({.id = 7, .time = moment("07:07"), .mark = journal::Mark::Undo, .undoes = 2});
    CHECK(app::off_plan(plan, undone, 1, moment("00:00"), moment("07:10")).size() == 3);
}

TEST_CASE("a step that is marked late puts its screen behind", "[board][again]") {
    const auto plan = golden_plan();
    const auto& coat = row_of_step(plan, "coat");
    const auto late = [&](int minutes) {
        journal::Entry done{.id = 1,
                            .time = coat.work_end + model::minutes(minutes),
                            .mark = journal::Mark::Done,
                            .what = "A1-1",
                            .step = "coat"};
        done.entered = done.time;
        return app::off_plan(plan, {done}, 0, moment("00:00"), done.time);
    };
    CHECK(late(14).empty());
    const auto causes = late(20);
    REQUIRE(causes.size() == 1);
    CHECK(causes[0].words == "A1-1 is 20 min behind its plan (coat)");
    // Another cause only once it is a quarter of an hour more.
    CHECK(late(29)[0].key == causes[0].key);
    CHECK(late(31)[0].key != causes[0].key);
}

TEST_CASE("where somebody marks, what is not marked has not begun", "[board][again]") {
    const auto plan = golden_plan();
    const auto& coat = row_of_step(plan, "coat");
    const auto place = coat.place;
    // Somebody marks there, something else; the coat of A1-1 is not marked.
    journal::Entry other = entry(1, journal::Mark::Done, "Z9-9", "06:10", "coat");
    other.station = place;
    const auto causes =
        app::off_plan(plan, {other}, 0, moment("00:00"), coat.start + model::minutes(25));
    const auto said = words(causes);
    CHECK(std::any_of(said.begin(), said.end(), [&](const std::string& w) {
        return w.rfind(place + ": ", 0) == 0 && w.find("should have begun") != std::string::npos;
    }));
    // Where nobody does, it is taken as planned.
    other.station = "elsewhere";
    CHECK(
        app::off_plan(plan, {other}, 0, moment("00:00"), coat.start + model::minutes(25)).empty());
}

TEST_CASE("an order's chance moves with its lateness", "[board][again]") {
    report::OrderLine order;
    order.due = moment("10:00");
    order.ready_p10 = moment("09:00");
    order.ready_p50 = moment("09:30");
    order.ready_p90 = moment("10:30");
    order.chance_late = 0.3;
    // By hand: half an hour later the due time stands where 09:30 stood, the median.
    CHECK(app::chance_late_behind(order, model::minutes(30)) == Approx(0.5));
    // 45 min later it stands at 09:15, halfway from the first to the fifth tenth: 0.3 in time.
    CHECK(app::chance_late_behind(order, model::minutes(45)) == Approx(0.7));
    CHECK(app::chance_late_behind(order, model::minutes(600)) == Approx(1.0));
    CHECK(app::chance_late_behind(order, model::Seconds{0}) == Approx(0.3));
    order.ready_p50.reset();
    CHECK(app::chance_late_behind(order, model::minutes(45)) == Approx(0.3));
}

TEST_CASE("a difference says what changes for whom", "[board][again]") {
    const auto was = golden_plan();
    auto is = was;
    for (auto& o : is.operations) {
        if (o.screen != "A1-1" || o.step != "coat") continue;
        o.start += model::minutes(30);
        o.work_end += model::minutes(30);
        o.end += model::minutes(30);
    }
    const auto json = nlohmann::json::parse(app::plan_difference(was, is, moment("00:00")));
    CHECK(json["steps"] == 1);
    REQUIRE(json["people"].size() == 1);
    const auto& person = json["people"][0];
    CHECK(person["name"] == row_of_step(was, "coat").people.front());
    CHECK(person["rows"][0]["screen"] == "A1-1");
    CHECK(person["rows"][0]["was"] == model::format_date_time(row_of_step(was, "coat").start));
    CHECK(person["rows"][0]["now"] == model::format_date_time(row_of_step(is, "coat").start));
    // What is over is no change any more.
    CHECK(nlohmann::json::parse(app::plan_difference(was, is, moment("23:00")))["steps"] == 0);
    CHECK(nlohmann::json::parse(app::plan_difference(was, was, moment("00:00")))["people"].empty());
}

TEST_CASE("changes for one day are made in the text of the files", "[board][again]") {
    const std::string room =
        "room: x\nstations:\n  - name: Ada\n    does: coat\npeople:  # all\n  - name: Ada\n"
        "    can: everything\n    overtime: 1 h  # at most\n  - {name: Ben, can: coat}\n"
        "  - {name: Cleo, overtime: 30 min, can: coat}\n  - name: Dan\n    can: coat\n";
    const auto ada = app::with_longer(room, "Ada");
    REQUIRE(ada);
    CHECK(ada->find("    overtime: 120 min  # at most\n") != std::string::npos);
    CHECK(app::with_longer(room, "Ben")->find("{overtime: 60 min, name: Ben, can: coat}") !=
          std::string::npos);
    CHECK(app::with_longer(room, "Cleo")->find("overtime: 90 min, can") != std::string::npos);
    CHECK(app::with_longer(room, "Dan")->find("  - name: Dan\n    overtime: 60 min\n") !=
          std::string::npos);
    CHECK_FALSE(app::with_longer(room, "Eve"));
    // The same by the reader itself.
    const std::string demo = whole(COATROOM_SOURCE "/scenarios/tomorrow/room.yaml");
    CHECK(app::with_longer(demo, "Ada"));

    const std::string orders = "# mine\norder,job,priority,count\nA1,\"a, b\",2,3\nA2,c,,1\n";
    CHECK(*app::with_first(orders, "A1") ==
          "# mine\norder,job,priority,count\nA1,\"a, b\",9,3\nA2,c,,1\n");
    CHECK(*app::with_first("order,count\nA1,2\nA2,1\n", "A2") ==
          "order,count,priority\nA1,2,\nA2,1,9\n");
    CHECK(*app::with_another("order,film ready,count\nA1,9:00,2\n", "A1", "A1-more1") ==
          "order,film ready,count\nA1,9:00,2\nA1-more1,,2\n");
    CHECK_FALSE(app::with_first(orders, "A3"));
    CHECK_FALSE(app::with_another(orders, "A3", "x"));
}
