// What a day's event log says of its screens, on logs made by hand. Little's law: J. D. C. Little,
// A proof for the queuing formula L = λ W, Operations Research 9 (1961); of a stretch that begins
// and ends empty it holds without any assumption.

#include "tests/room_judge/day_figures.hpp"

#include "tests/catch.hpp"

using planned::figures_of;
using planned::LoggedStep;

namespace {

using Words = std::vector<std::string>;

// Screen 1 is inside over [0, 10), screen 2 over [4, 12), nobody over [12, 20), screen 3 over
// [20, 21).
std::vector<LoggedStep> three() {
    return {{.screen = 1, .from = 0, .to = 3},
            {.screen = 1, .last = true, .from = 5, .to = 10},
            {.screen = 2, .from = 4, .to = 6},
            {.screen = 2, .from = 6, .to = 6},
            {.screen = 2, .last = true, .from = 6, .to = 12},
            {.screen = 3, .last = true, .from = 20, .to = 21}};
}

}  // namespace

TEST_CASE("screens inside summed over time are the screens' times inside", "[flow]") {
    const auto flow = figures_of(three());
    CHECK(flow.wrong == Words{});
    CHECK(flow.came == 3);
    CHECK(flow.ready == 3);
    CHECK(flow.inside == 0);
    CHECK(flow.again == 0);
    // One over [0, 4), two over [4, 10), one over [10, 12) and [20, 21): 4 + 12 + 2 + 1.
    CHECK(flow.area == 19);
    // 10 + 8 + 1.
    CHECK(flow.stays == 19);
    CHECK(flow.ready_at == std::map<int, std::int64_t>{{1, 10}, {2, 12}, {3, 21}});
}

TEST_CASE("a screen that is lost is inside for ever, and Little's law does not hold", "[flow]") {
    auto log = three();
    log[4].last = false;
    const auto flow = figures_of(log);
    CHECK(flow.came == 3);
    CHECK(flow.ready == 2);
    CHECK(flow.inside == 1);
    CHECK(flow.stays == 11);
    // It is inside from 4 to the last event: 4 + 12 + 2 + 8 + 2.
    CHECK(flow.area == 28);
}

TEST_CASE("a screen that is found bad is made again, and no other one", "[flow]") {
    const std::vector<LoggedStep> log = {
        {.screen = 7, .from = 0, .to = 3},
        {.screen = 7, .bad = true, .from = 3, .to = 5},
        {.screen = 7, .round = 1, .from = 8, .to = 9},
        {.screen = 7, .round = 1, .last = true, .bad = true, .from = 9, .to = 10},
        {.screen = 7, .round = 2, .last = true, .from = 30, .to = 33}};
    const auto flow = figures_of(log);
    CHECK(flow.wrong == Words{});
    CHECK(flow.came == 1);
    CHECK(flow.again == 2);
    CHECK(flow.ready == 1);
    CHECK(flow.area == 33);
    CHECK(flow.stays == 33);

    auto other = log;
    other[2].round = 0;
    other[3].round = 0;
    other[4].round = 1;
    CHECK(figures_of(other).wrong == Words{"screen 7 goes on after it was found bad"});
    other = log;
    other[1].bad = false;
    CHECK(figures_of(other).wrong == Words{"screen 7 is made again, and was not bad"});
}

TEST_CASE("no screen is in two steps at a time, nor worked on when it is ready", "[flow]") {
    auto log = three();
    log[1].from = 2;
    CHECK(figures_of(log).wrong == Words{"screen 1 is in two steps at a time"});
    log = three();
    log[0] = {.screen = 1, .from = 11, .to = 12};
    CHECK(figures_of(log).wrong == Words{"screen 1 is worked on after it is ready"});
    log = three();
    log[0] = {.screen = 1, .from = 4, .to = 2};
    CHECK(figures_of(log).wrong == Words{"screen 1 ends a step before it begins"});
}
