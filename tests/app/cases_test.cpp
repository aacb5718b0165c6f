// Rooms for which there was "no plan", or a wrong one, through the whole chain of `coatroom plan`:
// each the demo room with one thing changed.

#include <algorithm>
#include <set>

#include "model/read/scenario.hpp"
#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/pinned.hpp"
#include "sched/app/parts/room_of_plan.hpp"
#include "sched/check/checker.hpp"
#include "tests/catch.hpp"

namespace {

using namespace sched;
using Kind = search::FirstAnswer::Kind;

model::SimTime that_day(const std::string& text) {
    return *model::parse_date_time("2026-11-26T" + text);
}

app::Question ask_for_tomorrow() {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", d);
    REQUIRE(s);
    app::Question q{.folder = "", .scenario = *std::move(s), .start = that_day("00:00")};
    q.how.budget.evaluations = 20;
    q.quiet = true;
    return q;
}

struct Answered {
    app::RoomOfPlan room;
    app::FoundPlan plan;
    model::Diagnostics diagnostics;
};

Answered answered(const app::Question& q) {
    Answered a;
    auto room = app::room_of(q, a.diagnostics);
    REQUIRE(room);
    a.room = *std::move(room);
    if (a.room.first.kind != Kind::Plan && !q.midday) return a;
    a.plan = app::find_plan(q, a.room, a.room.room.problem, q.how);
    REQUIRE(a.plan.solution.schedule);
    for (const auto& v : check::check(a.plan.room.problem, *a.plan.solution.schedule))
        UNSCOPED_INFO(v.words);
    CHECK(check::check(a.plan.room.problem, *a.plan.solution.schedule).empty());
    return a;
}

report::PlanDocument posted(const app::Question& q, const Answered& a) {
    return report::make_plan_document(q.scenario, a.plan.room, a.plan.solution, {});
}

bool said(const std::vector<std::string>& notes, const std::string& words) {
    return std::any_of(notes.begin(), notes.end(),
                       [&](const std::string& n) { return n.find(words) != std::string::npos; });
}

}  // namespace

TEST_CASE("a pot that ends at seven is used until then, and the plan goes on with another",
          "[app][cases]") {
    auto q = ask_for_tomorrow();
    q.scenario.room.pots[0].mixed = *model::parse_date_time("2026-10-22T07:00");  // + 5 weeks
    const auto a = answered(q);
    CHECK(a.room.first.kind == Kind::Plan);
    const auto warned = a.diagnostics.all();
    CHECK(std::any_of(warned.begin(), warned.end(),
                      [](const auto& d) { return d.code == "pot-ends"; }));
}

TEST_CASE("a cabinet that is closed for ten minutes has a plan", "[app][cases]") {
    auto q = ask_for_tomorrow();
    for (auto& station : q.scenario.room.stations) {
        if (station.name == "cabinet") station.closed = {{that_day("09:00"), that_day("09:10")}};
    }
    CHECK(answered(q).room.first.kind == Kind::Plan);
}

TEST_CASE("where one alone may coat what two must work on, that is said before any search",
          "[app][cases]") {
    auto q = ask_for_tomorrow();
    q.scenario.room.limits.two_people_for.clear();  // everything
    for (auto& person : q.scenario.room.people) {
        if (person.name == "Cleo")
            std::erase_if(person.can, [](model::Step s) {
                return s == model::Step::Coat || s == model::Step::FaceCoat;
            });
    }
    const auto a = answered(q);
    CHECK(a.room.first.kind == Kind::Impossible);
    const auto words = app::no_plan_words(a.room);
    CHECK(words.find("only Ada may do it") != std::string::npos);
    CHECK(words.find("budget") == std::string::npos);
}

TEST_CASE("a due date years away or years ago costs no time", "[app][cases]") {
    auto q = ask_for_tomorrow();
    q.scenario.orders[3].due = *model::parse_date_time("2126-11-26T12:00");
    q.scenario.orders[4].due = *model::parse_date_time("1970-01-01T12:00");
    const auto a = answered(q);
    CHECK(a.room.how.days <= 63);
    CHECK(a.room.first.kind == Kind::Plan);
}

TEST_CASE("work that does not end in the days of the due dates gets more days", "[app][cases]") {
    // One hour a week: the forty screens take months of it, or the weeks do not do.
    auto q = ask_for_tomorrow();
    q.scenario.orders.resize(1);
    for (auto& person : q.scenario.room.people) {
        for (auto& shift : person.shifts) {
            shift.weekdays = {};
            shift.weekdays[0] = true;  // Monday 30 November: the fourth day after the start
        }
    }
    const auto a = answered(q);
    CHECK(a.room.first.kind == Kind::Plan);
    CHECK(a.room.how.days > 3);
}

// Marked is the inspection; nobody comes back to mark that the paint is dry.
TEST_CASE("an order is ready when its last block-out is dry, not when it is asked",
          "[app][cases][midday]") {
    auto q = ask_for_tomorrow();
    const auto plan = posted(q, answered(q));
    const auto& first = *std::min_element(
        plan.orders.begin(), plan.orders.end(),
        [](const auto& a, const auto& b) { return a.ready.value() < b.ready.value(); });
    const auto last = std::find_if(plan.operations.begin(), plan.operations.end(), [&](auto& line) {
        return line.order == first.name && line.step == "dry-touch-up" && line.end == *first.ready;
    });
    REQUIRE(last != plan.operations.end());
    model::ScreenNow told{.screen = last->screen};
    told.in = {model::Step::DryTouchUp};
    const auto later = std::chrono::minutes{7};
    told.since = model::time_of_day(last->start + later);
    app::Question again = q;
    again.midday = {.now = *first.ready + std::chrono::hours{2}, .state = {}, .posted = plan};
    again.midday->state.screens = {told};
    const auto a = answered(again);
    for (const auto& line : posted(again, a).orders) {
        if (line.name == first.name) CHECK(line.ready == *first.ready + later);
    }
    CHECK(said(a.room.notes, "is done since"));
}

TEST_CASE("the lamp fails with a screen in the unit, at any moment", "[app][cases][midday]") {
    auto q = ask_for_tomorrow();
    const auto before = answered(q);
    const auto plan = posted(q, before);
    int moments = 0;
    for (const auto& line : plan.operations) {
        if (line.place != "exposure unit" || line.screen.empty()) continue;
        if (++moments % 5 != 0) continue;
        for (const int share : {1, 2}) {
            auto again = q;
            const auto length = line.work_end - line.start;
            again.midday = {.now = line.start + (share == 1 ? length / 2 : length),
                            .state = {},
                            .posted = plan};
            if (again.midday->now <= line.start) continue;
            again.midday->state.stations.push_back(
                {.name = "exposure unit",
                 .until = again.midday->now + model::hours(3) - that_day("00:00")});
            INFO(line.words << " " << model::format_date_time(again.midday->now));
            const auto a = answered(again);
            CHECK((said(a.room.notes, "TAKE OUT BY HAND") || said(a.room.notes, "loaded again") ||
                   said(a.room.notes, "out of work")));
            // Nobody is in the unit before it works again.
            for (std::size_t i = 0; i < a.plan.room.operations.size(); ++i) {
                const auto& p = a.plan.solution.schedule->placements[i];
                if (a.plan.room.operations[i].step != model::Step::Expose) continue;
                CHECK((p.start < again.midday->now ||
                       p.start >= again.midday->now + model::hours(3)));
            }
        }
    }
    CHECK(moments > 10);
}

TEST_CASE("a frame that comes to the store at midday takes no screen off its own",
          "[app][cases][midday]") {
    auto q = ask_for_tomorrow();
    const auto before = answered(q);
    const auto plan = posted(q, before);
    auto again = q;
    again.midday = {.now = that_day("09:00"), .state = {}, .posted = plan};
    for (const char* mesh : {"77-55", "43-80", "120-34"}) {
        auto frame = q.scenario.frames.front();
        frame.mesh = mesh;
        frame.state = model::FrameState::Ready;
        frame.count = 3;
        frame.order.reset();
        frame.haze.reset();
        frame.from.reset();
        again.scenario.frames.push_back(frame);
    }
    const auto a = answered(again);
    std::multiset<std::pair<std::string, std::int64_t>> begun;
    for (std::size_t i = 0; i < a.plan.room.operations.size(); ++i)
        begun.insert({a.plan.room.problem.operations[i].name,
                      a.plan.solution.schedule->placements[i].start.time_since_epoch().count()});
    int facts = 0;
    for (std::size_t i = 0; i < plan.problem.operations.size(); ++i) {
        const auto start = plan.schedule.placements[i].start;
        if (start >= that_day("09:00")) continue;
        INFO(plan.problem.operations[i].name);
        CHECK(begun.count({plan.problem.operations[i].name, start.time_since_epoch().count()}) ==
              1);
        ++facts;
    }
    CHECK(facts > 20);
}
