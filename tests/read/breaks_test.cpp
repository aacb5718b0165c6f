// Everyone gets every break, or hears why not: model/room/breaks.hpp. Random days against a search
// of all starts on a grid.

#include "model/room/breaks.hpp"

#include <algorithm>
#include <functional>
#include <random>

#include "tests/catch.hpp"

using namespace model;

namespace {

const SimTime monday = *parse_date_time("2026-11-23T00:00");

Break fixed(Seconds at, Seconds length) {
    return {.earliest = at, .latest = at, .length = length};
}
Break floating(Seconds from, Seconds until, Seconds length) {
    return {.earliest = from, .latest = until - length, .length = length};
}

Person on_days(Seconds from, Seconds to, std::vector<Break> breaks,
               std::array<bool, 7> days = {true, false, false, false, false, false, false}) {
    return {.name = "Ada",
            .shifts = {{.weekdays = days, .from = from, .to = to}},
            .breaks = std::move(breaks)};
}

// Every break that is placed lies in its window and in the shift, and no two meet.
void check_sound(const Person& person, const BreakPlan& plan, SimTime first, SimTime end) {
    const auto there = attendance(person, first, end);
    for (std::size_t i = 0; i < plan.placed.size(); ++i) {
        const PlacedBreak& x = plan.placed[i];
        CHECK(x.length == person.breaks[x.pause].length);
        CHECK(x.earliest <= x.at);
        CHECK(x.at <= x.latest);
        CHECK(std::any_of(there.begin(), there.end(), [&](const auto& s) {
            return s.first <= x.earliest && x.latest + x.length <= s.second;
        }));
        if (i > 0) CHECK(plan.placed[i - 1].at + plan.placed[i - 1].length <= x.at);
    }
}

BreakPlan of_the_week(const Person& person, Stagger stagger = {}) {
    const SimTime end = monday + std::chrono::days{7};
    BreakPlan plan = place_breaks(person, monday, end, stagger);
    check_sound(person, plan, monday, end);
    return plan;
}

}  // namespace

TEST_CASE("a fixed break beside a floating one: both are had", "[breaks]") {
    const Person ada =
        on_days(hours(6), hours(14),
                {floating(minutes(510), hours(10), minutes(30)), fixed(hours(9), minutes(15))});
    for (std::size_t k = 0; k < 5; ++k) {
        const BreakPlan plan = of_the_week(ada, {k, 5});
        CHECK(plan.placed.size() == 2);
        CHECK(plan.missed.empty());
    }
}

TEST_CASE("two floating breaks that overlap, and two fixed ones that touch", "[breaks]") {
    const Person ada = on_days(
        hours(6), hours(14),
        {floating(hours(9), hours(10), minutes(30)), floating(hours(9), hours(10), minutes(30))});
    const BreakPlan plan = of_the_week(ada);
    REQUIRE(plan.placed.size() == 2);
    CHECK(plan.placed[0].at == monday + hours(9));
    CHECK(plan.placed[1].at == monday + hours(9) + minutes(30));
    const Person ben = on_days(hours(6), hours(14),
                               {fixed(minutes(555), minutes(15)), fixed(hours(9), minutes(15))});
    CHECK(of_the_week(ben).placed.size() == 2);
}

TEST_CASE("breaks around midnight belong to the night shift", "[breaks]") {
    const std::array<bool, 7> five{true, true, true, true, true, false, false};
    const Person ada =
        on_days(hours(22), hours(30),
                {fixed(hours(24) - minutes(15), minutes(30)),
                 floating(hours(23), hours(25), minutes(20)), fixed(hours(2), minutes(30))},
                five);
    const BreakPlan plan = of_the_week(ada);
    CHECK(plan.missed.empty());
    // Five nights, three breaks each; the last one is on Saturday's date.
    CHECK(plan.placed.size() == 15);
    CHECK(plan.placed.back().at == monday + std::chrono::days{5} + hours(2));
}

TEST_CASE("shifts that touch are one stretch for a break", "[breaks]") {
    Person ada = on_days(hours(6), hours(12), {fixed(minutes(710), minutes(20))});
    ada.shifts.push_back({.weekdays = ada.shifts[0].weekdays, .from = hours(12), .to = hours(18)});
    CHECK(of_the_week(ada).placed.size() == 1);
    // With an hour between them a floating break is had once, in the first that it fits into.
    ada.shifts[1].from = hours(13);
    ada.breaks = {floating(hours(11), hours(15), minutes(30))};
    const BreakPlan plan = of_the_week(ada);
    REQUIRE(plan.placed.size() == 1);
    CHECK(plan.placed[0].latest == monday + hours(12) - minutes(30));
}

TEST_CASE("what cannot be had is named, with what is in its way", "[breaks]") {
    const Person ada =
        on_days(hours(6), hours(14),
                {fixed(hours(9), minutes(30)), fixed(hours(9) + minutes(15), minutes(30)),
                 fixed(hours(14) - minutes(10), minutes(30))});
    const BreakPlan plan = of_the_week(ada);
    CHECK(plan.placed.size() == 1);
    REQUIRE(plan.missed.size() == 2);
    CHECK(plan.missed[0].pause == 2);
    CHECK_FALSE(plan.missed[0].because_of);
    CHECK(plan.missed[1].pause == 1);
    CHECK(plan.missed[1].because_of == 0u);
    // A break whose time nobody works in is not for that day.
    CHECK(place_breaks(on_days(hours(6), hours(11), {fixed(hours(12), minutes(30))}), monday,
                       monday + std::chrono::days{7})
              .missed.empty());
}

TEST_CASE("of breaks that cannot all be had, as many as can be are had", "[breaks]") {
    // The first is in the way of both others.
    const Person ada = on_days(hours(6), hours(14),
                               {fixed(hours(9), minutes(35)), fixed(hours(9), minutes(25)),
                                fixed(hours(9) + minutes(30), minutes(15))});
    const BreakPlan plan = of_the_week(ada);
    REQUIRE(plan.placed.size() == 2);
    CHECK(plan.placed[0].pause == 1);
    CHECK(plan.placed[1].pause == 2);
    REQUIRE(plan.missed.size() == 1);
    CHECK(plan.missed[0].pause == 0);
}

// All starts on a grid of 5 min, which no order of breaks of such lengths needs to leave.
TEST_CASE("a break is missed only where no placing holds all", "[breaks][property]") {
    std::mt19937 random(14);
    const auto draw = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
    int missed = 0;
    for (int round = 0; round < 2000; ++round) {
        Person p = on_days(hours(8), hours(8) + minutes(5 * (12 + draw(13))), {});
        const int count = 2 + draw(3);
        for (int b = 0; b < count; ++b) {
            const Seconds from = hours(8) + minutes(5 * draw(14));
            const Seconds length = minutes(5 * (1 + draw(4)));
            p.breaks.push_back({from, from + minutes(5 * draw(6)), length});
        }
        const BreakPlan plan = of_the_week(p, {static_cast<std::size_t>(draw(3)), 3});
        CHECK(plan.placed.size() + plan.missed.size() <= static_cast<std::size_t>(count));
        const bool because = std::any_of(plan.missed.begin(), plan.missed.end(),
                                         [](const MissedBreak& m) { return m.because_of; });
        missed += because ? 1 : 0;
        // Those that fit into the shift by themselves, put in all ways.
        std::vector<Break> fit;
        for (const Break& b : p.breaks) {
            const Seconds latest = std::min(b.latest, p.shifts[0].to - b.length);
            if (b.earliest <= latest && b.earliest < p.shifts[0].to)
                fit.push_back({b.earliest, latest, b.length});
        }
        std::vector<Seconds> at(fit.size());
        const std::function<bool(std::size_t)> all = [&](std::size_t i) {
            if (i == fit.size()) return true;
            for (at[i] = fit[i].earliest; at[i] <= fit[i].latest; at[i] += minutes(5)) {
                bool free = true;
                for (std::size_t k = 0; k < i; ++k)
                    free =
                        free && (at[k] + fit[k].length <= at[i] || at[i] + fit[i].length <= at[k]);
                if (free && all(i + 1)) return true;
            }
            return false;
        };
        CAPTURE(round);
        CHECK(because == !all(0));
        // Where not all can be had, as many as can be.
        std::vector<std::pair<Seconds, Seconds>> had;
        const std::function<std::size_t(std::size_t)> most = [&](std::size_t i) -> std::size_t {
            if (i == fit.size()) return had.size();
            std::size_t best = most(i + 1);
            for (Seconds from = fit[i].earliest; from <= fit[i].latest; from += minutes(5)) {
                const Seconds to = from + fit[i].length;
                if (std::any_of(had.begin(), had.end(),
                                [&](const auto& x) { return from < x.second && x.first < to; }))
                    continue;
                had.emplace_back(from, to);
                best = std::max(best, most(i + 1));
                had.pop_back();
            }
            return best;
        };
        CHECK(plan.placed.size() == (because ? most(0) : fit.size()));
    }
    CHECK(missed > 100);
    CHECK(missed < 1900);
}
