// Times as they are read: one rounding, so that what is said about two clocks is their difference.

#include <array>
#include <cstdio>

#include "model/base/shown.hpp"
#include "model/read/scenario.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/report/plan/text.hpp"
#include "sched/report/promise/promise_text.hpp"
#include "sched/report/words/wording.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched::report;
using model::Seconds;
using model::SimTime;

namespace {

/// Minutes after `midnight` of "08:47" or "Fri 08:47"; nothing else is written for the days here.
std::int64_t minutes_read(const std::string& words, const RunLine& run) {
    static const std::array<std::string, 7> days = {"Mon", "Tue", "Wed", "Thu",
                                                    "Fri", "Sat", "Sun"};
    std::int64_t day = 0;
    std::string clock = words;
    if (const auto space = words.find(' '); space != std::string::npos) {
        const auto name = std::find(days.begin(), days.end(), words.substr(0, space));
        REQUIRE(name != days.end());
        day = (name - days.begin() - model::weekday_index(model::date_of(run.first_start)) + 7) % 7;
        clock = words.substr(space + 1);
    }
    const auto t = model::parse_time_of_day(clock);
    REQUIRE(t);
    return day * 1440 + t->count() / 60;
}

/// "1 h 4 min early" as minutes after the due time.
std::int64_t lateness_read(const std::string& words) {
    if (words == "on time" || words == "under 1 min late") return 0;
    std::int64_t hours = 0, minutes = 0;
    std::array<char, 8> way{};
    if (std::sscanf(words.c_str(), "%ld h %ld min %7s", &hours, &minutes, way.data()) != 3) {
        hours = minutes = 0;
        if (std::sscanf(words.c_str(), "%ld min %7s", &minutes, way.data()) != 2) {
            minutes = 0;
            REQUIRE(std::sscanf(words.c_str(), "%ld h %7s", &hours, way.data()) == 2);
        }
    }
    const std::string early = way.data();
    REQUIRE((early == "early" || early == "late"));
    return (early == "early" ? -1 : 1) * (hours * 60 + minutes);
}

}  // namespace

TEST_CASE("due, ready and the lateness between them add up as they are read", "[shown]") {
    random_room::Draw d(7);
    RunLine run;
    run.first_start = *model::parse_date_time("2026-11-26T06:00");
    int late_words = 0;
    for (int k = 0; k < 5000; ++k) {
        OrderLine order;
        order.due = run.first_start + model::minutes(d.below(3 * 1440));
        // Every 50th has seconds in its due time, which an input file may have.
        if (k % 50 == 0) *order.due += Seconds{d.below(60)};
        order.ready = std::max(run.first_start, *order.due + Seconds{d.below(40'000) - 20'000});
        if (k % 3 == 0) order.ready = *order.due + Seconds{d.below(200) - 100};
        order.lateness = *order.ready - *order.due;
        const std::string words = lateness_words(order);
        INFO(when(run, *order.ready) << " " << words << " (due " << when(run, *order.due) << ")");
        CHECK(minutes_read(when(run, *order.ready), run) -
                  minutes_read(when(run, *order.due), run) ==
              lateness_read(words));
        // Late is said to be late, and what is in time is not.
        const bool says_late = words.find("late") != std::string::npos;
        CHECK(says_late == (*order.lateness > Seconds{0}));
        late_words += says_late ? 1 : 0;
    }
    CHECK(late_words > 1000);
}

TEST_CASE("a shown minute is never before the instant, keeps order and midnight", "[shown]") {
    const SimTime midnight = *model::parse_date_time("2026-11-27T00:00");
    RunLine run;
    run.first_start = *model::parse_date_time("2026-11-26T06:00");
    CHECK(when(run, midnight - Seconds{1}) == "Fri 00:00");
    CHECK(when(run, midnight - Seconds{60}) == "23:59");
    CHECK(weekday_time(midnight - Seconds{30}) == "Fri 27 Nov, 00:00");
    for (int s = -130; s < 130; ++s) {
        const SimTime t = midnight + Seconds{s};
        CHECK(model::shown_minute(t) >= t);
        CHECK(model::shown_minute(t) - t < Seconds{60});
        CHECK(model::shown_minute(t) <= model::shown_minute(t + Seconds{1}));
        CHECK(model::time_of_day(model::shown_minute(t)).count() % 60 == 0);
    }
}

TEST_CASE("chains in words run forward in time and end at the ready time", "[shown][chain]") {
    int reasons = 0, shared = 0, stories = 0;
    for (const char* name : {"first-day", "damp-day", "tomorrow", "second-cabinet"}) {
        model::Diagnostics diagnostics;
        const auto scenario =
            model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/" + name, diagnostics);
        REQUIRE(scenario);
        auto room = sched::compile::compile_room(
            *scenario, {.start = *model::parse_date_time("2026-11-26T00:00"), .days = 4},
            diagnostics);
        REQUIRE(room);
        // Due as early as can be, so that late orders tell their stories.
        for (auto& order : room->problem.orders)
            if (order.due) *order.due -= model::minutes(90);
        sched::search::SearchOptions options;
        options.budget.evaluations = 30;
        options.threads = 1;
        const auto solution = sched::search::solve(room->problem, options);
        REQUIRE(solution.schedule);
        const PlanDocument plan = make_plan_document(*scenario, *room, solution, {});
        for (const OrderLine& order : plan.orders) {
            INFO(name << " " << order.name << ": " << order.story);
            if (!order.ready || order.reasons.empty()) continue;
            std::int64_t at = 0;
            for (const ReasonLine& line : order.reasons) {
                ++reasons;
                const OperationLine& op = plan.operations[static_cast<std::size_t>(line.operation)];
                const auto colon = line.words.find(": ");
                INFO(line.words);
                REQUIRE(colon != std::string::npos);
                // "Fri 06:12 coat A1-1: ...": the clock in front is the step's start.
                const std::string clock = when(plan.run, op.start);
                CHECK(line.words.rfind(clock + " ", 0) == 0);
                CHECK(minutes_read(clock, plan.run) >= at);
                at = minutes_read(clock, plan.run);
                CHECK(op.start <= *order.ready);
                if (line.cause != "resource" || !line.because) continue;
                // Who or what was shared is said by name, unless it is the screen's own step.
                const auto& by = plan.operations[static_cast<std::size_t>(*line.because)];
                if (by.screen == op.screen && !op.screen.empty()) continue;
                ++shared;
                CHECK(line.words.find(line.resource) != std::string::npos);
                CHECK(line.words.find(by.words) != std::string::npos);
            }
            const auto& last =
                plan.operations[static_cast<std::size_t>(order.reasons.back().operation)];
            CHECK(last.order == order.name);
            CHECK((last.end == *order.ready || last.work_end == *order.ready));

            // "From 06:00: 12 min ...; 1 h 3 min ....": the minutes are those to the ready time.
            const auto from = order.story.find("rom ");
            const auto colon = order.story.find(": ", from);
            if (from == std::string::npos || colon == std::string::npos) continue;
            ++stories;
            std::int64_t sum = 0;
            for (auto part = colon + 2; part != std::string::npos;) {
                std::int64_t hours = 0, minutes = 0;
                const char* text = order.story.c_str() + part;
                if (std::sscanf(text, "%ld h %ld min", &hours, &minutes) != 2) {
                    hours = minutes = 0;
                    if (std::sscanf(text, "%ld h", &hours) != 1 ||
                        order.story.compare(part + std::to_string(hours).size(), 2, " h") != 0) {
                        hours = 0;
                        CHECK(std::sscanf(text, "%ld min", &minutes) == 1);
                    }
                }
                sum += hours * 60 + minutes;
                const auto next = order.story.find("; ", part);
                part = next == std::string::npos ? next : next + 2;
            }
            auto begins = order.story.find("From then: ");
            const std::string start =
                begins == std::string::npos
                    ? order.story.substr(from + 4, colon - from - 4)
                    : order.story.substr(order.story.rfind(" at ", begins) + 4,
                                         begins - 2 - order.story.rfind(" at ", begins) - 4);
            CHECK(sum == minutes_read(when(plan.run, *order.ready), plan.run) -
                             minutes_read(start, plan.run));
        }
    }
    CHECK(reasons > 300);
    CHECK(shared > 100);
    CHECK(stories > 3);
}

// A3 waits for Ada, who waited for the film of A9; but its frame came later still.
TEST_CASE("a chain begins with what came last to the order itself", "[shown][chain]") {
    model::Diagnostics diagnostics;
    auto scenario =
        model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", diagnostics);
    REQUIRE(scenario);
    const auto that_day = [](const char* clock) {
        return *model::parse_date_time(std::string("2026-11-26T") + clock);
    };
    const auto order = [&](std::size_t i, int count, const char* due) {
        model::Order one = scenario->orders[i];
        one.lines.resize(1);
        one.lines[0].count = count;
        one.due = that_day(due);
        return one;
    };
    scenario->room.people.resize(1);
    scenario->orders = {order(8, 2, "09:45"), order(2, 1, "09:50")};
    scenario->orders[0].priority = 9;
    // The only frame that is left for the second order comes while Ada is at the first one.
    model::FrameStock there, back;
    const auto& line = scenario->orders[0].lines[0];
    for (const auto& stock : scenario->frames) {
        if (stock.mesh == line.mesh && stock.size == line.frame &&
            stock.state == model::FrameState::Ready)
            there = stock;
    }
    there.count = 2;
    back = there;
    back.count = 1;
    back.from = that_day("09:32");
    scenario->frames = {there, back};
    const auto room = sched::compile::compile_room(
        *scenario, {.start = that_day("00:00"), .days = 4}, diagnostics);
    REQUIRE(room);
    sched::search::SearchOptions options;
    options.budget.evaluations = 200;
    options.threads = 1;
    const auto solution = sched::search::solve(room->problem, options);
    REQUIRE(solution.schedule);
    const PlanDocument plan = make_plan_document(*scenario, *room, solution, {});
    const std::string &first = plan.orders[0].story, &second = plan.orders[1].story;
    INFO(first << "\n" << second);
    CHECK(first.find(" Its film is there at 09:30.") != std::string::npos);
    CHECK(second.find("film") == std::string::npos);
    CHECK(
        second.find(" Its frame is there at 09:32. From then: 15 min waiting for Ada (busy with " +
                    plan.orders[0].name + ");") != std::string::npos);
}
