// The reason of a late order as it stands on the page, of whole rooms: it is the way of the order's
// own last screen, so the times add up to what that screen did and waited.

#include <algorithm>

#include "sched/report/document/plan_document.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/report/one_of_each.hpp"

using namespace model;
namespace core = sched::core;
namespace report = sched::report;

namespace {

const SimTime story_day = *parse_date_time("2026-11-26T00:00");

// One person at one of each place; seven screens for two orders, the second of them due at once.
Scenario late_room() {
    Scenario s = one_of_each(story_day);
    for (auto& station : s.room.stations) {
        if (station.name == "cabinet") station.places = 4;
        if (station.name == "rack") station.places = 9;
    }
    s.room.pots[0].volume = Millilitres{9000};
    const Area frame = s.frames[0].size;
    const auto order = [&](const char* name, SimTime due, int count, int priority) {
        return Order{.name = name,
                     .due = due,
                     .priority = priority,
                     .lines = {{.count = count,
                                .mesh = "90-48",
                                .frame = frame,
                                .emulsion = "quick",
                                .coat_plan = "2+2"}}};
    };
    s.orders = {order("A", story_day + hours(11), 4, 9), order("B", story_day + hours(8), 3, 1)};
    s.frames = {{.size = frame, .mesh = "90-48", .state = FrameState::OldStencil, .count = 7}};
    return s;
}

report::PlanDocument told(const Scenario& s) {
    Diagnostics d;
    const auto room = sched::compile::compile_room(s, {.start = story_day, .days = 4}, d);
    for (const auto& x : d.all())
        UNSCOPED_INFO(to_text(x));
    REQUIRE(room);
    sched::search::SearchOptions options;
    options.budget.evaluations = 60;
    const core::Solution solution = sched::search::solve(room->problem, options);
    REQUIRE(solution.schedule);
    return report::make_plan_document(s, *room, solution, {});
}

}  // namespace

TEST_CASE("the chain of a late order is the whole way of its last screen", "[report][story]") {
    const report::PlanDocument d = told(late_room());
    int late = 0;
    for (const auto& order : d.orders) {
        if (!order.lateness || *order.lateness <= Seconds{0}) continue;
        ++late;
        REQUIRE(!order.reasons.empty());
        const auto last = static_cast<std::size_t>(order.reasons.back().operation);
        const std::string& screen = d.operations[last].screen;
        REQUIRE(!screen.empty());
        INFO(screen << ": " << order.story);
        SimTime at = d.operations[last].end;
        Seconds idle{0}, told_of{0};
        std::vector<std::size_t> mine;
        for (std::size_t i = 0; i < d.operations.size(); ++i) {
            if (d.operations[i].screen == screen) mine.push_back(i);
        }
        std::stable_sort(mine.begin(), mine.end(), [&](std::size_t a, std::size_t b) {
            return d.operations[a].start < d.operations[b].start;
        });
        for (std::size_t k = 0; k < mine.size(); ++k) {
            const auto reason = std::find_if(
                order.reasons.begin(), order.reasons.end(), [&](const report::ReasonLine& r) {
                    return static_cast<std::size_t>(r.operation) == mine[k];
                });
            INFO(d.operations[mine[k]].words);
            REQUIRE(reason != order.reasons.end());
            if (k == 0) continue;
            const Seconds gap = std::max(
                Seconds{0}, d.operations[mine[k]].start - d.operations[mine[k - 1]].work_end);
            idle += gap;
            told_of += reason->waited;
            CHECK(reason->waited <= gap);  // nobody waits longer than the screen stood there
        }
        CHECK(at == *order.ready);
        // What the plan does at once after the other needs no reason; the rest has one.
        CHECK(told_of >= idle - minutes(1) * static_cast<int>(mine.size()));
    }
    CHECK(late > 0);
}

TEST_CASE("a late order that waits for its emulsion says so", "[report][story]") {
    Scenario s = late_room();
    s.orders.pop_back();
    s.orders[0].due = story_day + hours(8);
    s.room.emulsions[0].family = EmulsionFamily::DualCure;
    s.room.pots = {{.name = "two parts",
                    .emulsion = "quick",
                    .volume = Millilitres{900},
                    .needs_mixing = true}};
    // Nobody but Bea mixes; she comes at ten.
    const std::array<bool, 7> always{true, true, true, true, true, true, true};
    for (const Step step : {Step::Strip, Step::Rinse, Step::Haze, Step::Degrease, Step::Coat,
                            Step::Expose, Step::WashOut, Step::Inspect})
        s.room.people[0].can.push_back(step);
    s.room.people.push_back({.name = "Bea",
                             .can = {Step::MixDissolve, Step::MixStir},
                             .shifts = {{.weekdays = always, .from = hours(10), .to = hours(15)}}});
    const report::PlanDocument d = told(s);
    REQUIRE(d.orders.size() == 1);
    INFO(d.orders[0].story);
    CHECK(d.orders[0].story.find("until two parts is mixed and usable") != std::string::npos);
    CHECK(d.orders[0].story.find("From 10:00:") != std::string::npos);
    CHECK(d.orders[0].story.find("mixing") == std::string::npos);
}

TEST_CASE("a film that comes when nobody is there is not said to wait for a place",
          "[report][story]") {
    Scenario s = late_room();
    s.orders.pop_back();  // four screens, one unit for one screen, Ada is there until 15:00
    s.orders[0].due = story_day + hours(17);
    s.orders[0].lines[0].film_ready = story_day + hours(16);
    const report::PlanDocument d = told(s);
    REQUIRE(d.orders.size() == 1);
    const std::string& story = d.orders[0].story;
    INFO(story);
    CHECK(story.find("Its film is there at 16:00. From then: 15 h until Ada is there;") !=
          std::string::npos);
    CHECK(story.find("(busy with its other screens)") != std::string::npos);
}
