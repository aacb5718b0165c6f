// When a day has left its plan, what a new plan changes, and what was decided for one day.

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

TEST_CASE("what the plan took for true and is taken back asks for another", "[board][again]") {
    const auto plan = golden_plan();
    const auto undo = [](std::int64_t id, std::int64_t of) {
        auto e = entry(id, journal::Mark::Undo, "", "07:09");
        e.undoes = of;
        return e;
    };
    std::vector<journal::Entry> entries = {
        entry(1, journal::Mark::Down, "Cabinet <1>", "07:00"),
        entry(2, journal::Mark::Absent, "Ada", "07:01"),
        entry(3, journal::Mark::Opened, "blue 1", "07:02"),
        entry(4, journal::Mark::Posted, "plan", "07:03"),
        entry(5, journal::Mark::Down, "Sink", "07:05"),
        undo(6, 1),
        undo(7, 2),
        undo(8, 3),  // no reason for a plan: nor is taking it back
        undo(9, 5),  // the plan never knew it
        undo(10, 7)};
    const auto causes = app::off_plan(plan, entries, 3, moment("00:00"), moment("07:10"));
    CHECK(causes == std::vector<app::OffPlan>{
                        {"entry 1 not", "Cabinet <1> is out of work since 07:00: taken back"}});
    // A plan that has seen it all.
    CHECK(app::off_plan(plan, entries, 10, moment("00:00"), moment("07:10")).empty());
}

TEST_CASE("of the day before a plan need not know, but of what is out of work", "[board][again]") {
    const auto plan = golden_plan();
    REQUIRE(plan.problem.horizon_start == moment("00:00"));
    std::vector<journal::Entry> entries = {entry(1, journal::Mark::Down, "Sink", "10:12"),
                                           entry(2, journal::Mark::Down, "Oven", "10:12"),
                                           entry(3, journal::Mark::Up, "Oven", "11:00"),
                                           entry(4, journal::Mark::Remake, "A1-1", "21:30"),
                                           entry(5, journal::Mark::Absent, "Ada", "21:30")};
    for (auto& e : entries)
        e.time -= std::chrono::hours{24};
    const auto from = moment("00:00") - std::chrono::hours{5};  // 19:00, as a board has it at 07:00
    const auto causes = app::off_plan(plan, entries, 0, from, moment("07:10"));
    CHECK(words(causes) == std::vector<std::string>{"Sink is out of work since 2026-11-25T10:12"});
    CHECK(app::off_plan(plan, entries, 1, from, moment("07:10")).empty());
}

TEST_CASE("what is new since the plan asks for another", "[board][again]") {
    const auto plan = golden_plan();
    const std::vector<journal::Entry> entries = {
        entry(1, journal::Mark::Posted, "plan", "05:50"),
        entry(2, journal::Mark::Down, "Cabinet <1>", "07:00"),
        entry(3, journal::Mark::Remake, "A1-1", "07:05"),
        entry(4, journal::Mark::Film, "A1", "06:30"),  // is there: no news
        entry(5, journal::Mark::Film, "A1", "08:30"),  // comes late
        entry(6, journal::Mark::Absent, "Ada", "07:06"),
        entry(7, journal::Mark::Empty, "blue 1", "07:08")};
    const auto causes = app::off_plan(plan, entries, 1, moment("00:00"), moment("07:10"));
    CHECK(words(causes) ==
          std::vector<std::string>{"Cabinet <1> is out of work since 07:00", "A1-1 is made again",
                                   "the film of A1 comes at 08:30", "Ada is not here since 07:06",
                                   "blue 1 is empty since 07:08"});
    // A plan that was made after them has settled them.
    CHECK(app::off_plan(plan, entries, 7, moment("00:00"), moment("07:10")).empty());
    auto undone = entries;
    undone.push_back({.id = 8, .time = moment("07:07"), .mark = journal::Mark::Undo, .undoes = 2});
    CHECK(app::off_plan(plan, undone, 1, moment("00:00"), moment("07:10")).size() == 4);
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

TEST_CASE("what was decided for the day is put into the scenario", "[board][again]") {
    using journal::Entry;
    using journal::Mark;
    model::Diagnostics diagnostics;
    const auto read = model::read_scenario(COATROOM_SOURCE "/scenarios/first-day", diagnostics);
    REQUIRE(read);
    const std::string order = read->orders.front().name, person = read->room.people.front().name;
    const auto from = moment("06:00"), now = moment("10:00");
    std::int64_t id = 0;
    std::vector<Entry> entries;
    const auto mark = [&](Mark m, const std::string& what, const char* clock) {
        entries.push_back({.id = ++id, .time = moment(clock), .mark = m, .what = what});
    };
    mark(Mark::Another, order, "08:00");
    mark(Mark::Another, order, "08:10");
    mark(Mark::Undo, "", "08:20");
    entries.back().undoes = 1;
    mark(Mark::Longer, person, "09:00");
    mark(Mark::Longer, person, "09:30");
    mark(Mark::First, order, "09:40");
    mark(Mark::Longer, "nobody", "09:40");
    mark(Mark::First, "nothing", "09:40");
    mark(Mark::Another, order, "10:01");  // not yet
    auto changed = *read;
    app::put_changes(entries, from, now, changed);
    const std::vector<model::LongerDay> two_hours{{model::date_of(now), std::chrono::hours{2}}};
    CHECK(changed.room.people.front().longer == two_hours);
    CHECK(changed.room.people.front().overtime == read->room.people.front().overtime);
    REQUIRE(changed.orders.size() == read->orders.size() + 1);
    CHECK(changed.orders.front().priority == 9);
    // The name stays what it was when the first of the two was taken back.
    CHECK(changed.orders.back().name == order + "-more2");
    CHECK(changed.orders.back().due == read->orders.front().due);
    CHECK(changed.orders.back().lines.size() == read->orders.front().lines.size());
    // On the next day it is still of that day; of a later mark, of before the day: nothing.
    auto next = *read;
    app::put_changes(entries, from, now + std::chrono::hours{24}, next);
    CHECK(next.room.people.front().longer == two_hours);
    // A plan that was accepted with one mark has seen that one, and not those before it.
    auto with = *read;
    app::put_changes(entries, from, now, with, 3, 5);
    CHECK(with.room.people.front().longer ==
          std::vector<model::LongerDay>{{model::date_of(now), std::chrono::hours{1}}});
    CHECK(with.orders.front().priority == read->orders.front().priority);
    auto early = *read;
    app::put_changes(entries, from, now, early, 1);
    CHECK(early == *read);
    auto of_today = *read;
    app::put_changes(entries, now, now, of_today);
    CHECK(of_today == *read);
    // A board says so by itself, and offers a plan, when somebody marks it elsewhere.
    CHECK(app::words_of_change(Mark::Longer, "Ada") == "Ada stays an hour longer");
    CHECK_FALSE(app::can_be_tried(Mark::Posted));
}
