// Calendars against sets of seconds.

#include "sched/core/calendar.hpp"

#include <random>
#include <set>

#include "sched/core/pauses.hpp"
#include "tests/catch.hpp"

using namespace sched::core;

namespace {

SimTime tick(int t) {
    return SimTime{Seconds{t}};
}

}  // namespace

TEST_CASE("opening and closing a calendar, second by second", "[calendar]") {
    std::mt19937 random(3);
    for (int round = 0; round < 400; ++round) {
        Calendar calendar;
        std::set<int> open;
        for (int step = 0; step < 12; ++step) {
            const int from = static_cast<int>(random() % 40);
            const int to = from + static_cast<int>(random() % 9);
            const Window w{tick(from), tick(to)};
            const bool opens = random() % 2 == 0;
            opens ? open_window(calendar, w) : close_window(calendar, w);
            for (int t = from; t < to; ++t) {
                if (opens)
                    open.insert(t);
                else
                    open.erase(t);
            }
            int counted = 0;
            for (std::size_t i = 0; i < calendar.size(); ++i) {
                REQUIRE(calendar[i].from < calendar[i].to);
                if (i > 0) REQUIRE(calendar[i - 1].to < calendar[i].from);
                for (SimTime t = calendar[i].from; t < calendar[i].to; t += Seconds{1})
                    counted += open.count(static_cast<int>(t.time_since_epoch().count())) ? 1 : 100;
            }
            REQUIRE(counted == static_cast<int>(open.size()));
            const int a = static_cast<int>(random() % 50), b = static_cast<int>(random() % 50);
            int common = 0;
            for (int t = a; t < b; ++t)
                common += open.count(t) ? 1 : 0;
            REQUIRE(overlap(tick(a), tick(b), calendar) == Seconds{common});
        }
    }
}

TEST_CASE("breaks that exchange their places are placed together", "[calendar][pauses]") {
    Problem problem;
    problem.resources.push_back({.name = "Ada", .calendar = Calendar{{tick(0), tick(100)}}});
    const ResourceId ada{std::size_t{0}};
    problem.pauses = {{ada, tick(0), tick(50), Seconds{10}, tick(0)},
                      {ada, tick(0), tick(50), Seconds{20}, tick(10)}};
    close_window(*problem.resources[0].calendar, {tick(0), tick(30)});
    auto places = problem.pauses;
    places[0].at = tick(20);
    places[1].at = tick(0);
    place_pauses(problem, places);
    CHECK(problem.pauses == places);
    CHECK(problem.resources[0].calendar == Calendar{{tick(30), tick(100)}});
    places[1].at = tick(15);  // into the other: it stays
    place_pauses(problem, places);
    CHECK(problem.pauses[1].at == tick(0));
    move_pause(problem, 1, tick(40));
    CHECK(problem.resources[0].calendar ==
          Calendar{{tick(0), tick(20)}, {tick(30), tick(40)}, {tick(60), tick(100)}});
}
