// The story of a late order: few parts, without a gap, minutes that add up.

#include "sched/report/plan/chain_story.hpp"

#include "tests/catch.hpp"

using namespace sched::report;
using model::Seconds;
using model::SimTime;

namespace {

SimTime clock_at(int minutes, int seconds = 0) {
    return SimTime{Seconds{60 * minutes + seconds}};
}

}  // namespace

TEST_CASE("neighbours of one kind are one part, waits have their own", "[report][chain]") {
    const std::vector<ChainStep> steps = {
        {.start = clock_at(30), .own = true, .work = "expose A-1", .order = "A", .resource = "Ada"},
        {.start = clock_at(0), .own = true, .work = "degrease A-1", .order = "A"},
        {.start = clock_at(10), .own = true, .work = "coat A-1", .order = "A"},
        {.start = clock_at(20), .work = "coat B-1", .order = "B"},
        {.start = clock_at(50),
         .own = true,
         .work = "wash out A-1",
         .order = "A",
         .resource = "Ben",
         .waited = Seconds{600},
         .why = "until Ben is there"}};
    const auto parts = chain_parts(steps, clock_at(60));
    REQUIRE(parts.size() == 5);
    CHECK(parts[0].words == "own work, degrease A-1 to coat A-1");
    CHECK(parts[1].words == "waiting for Ada (busy with B)");
    CHECK(parts[2].words == "own work, expose A-1");
    CHECK(parts[3].words == "until Ben is there");
    CHECK(parts[3].from == clock_at(40));
    CHECK(parts[4].words == "own work, wash out A-1");
}

TEST_CASE("a wait on the screen's own way names who was busy with what, and who was away",
          "[report][chain]") {
    std::vector<ChainStep> steps = {
        {.start = clock_at(0), .mixes = "until blue is mixed and usable"},
        {.start = clock_at(10), .mixes = "until blue is mixed and usable"},
        {.start = clock_at(90), .own = true, .work = "coat A-1", .order = "A"},
        {.start = clock_at(200),
         .own = true,
         .work = "inspect A-1",
         .order = "A",
         .resource = "table",
         .waited = Seconds{6000},
         .busy = "its other screens"}};
    auto parts = chain_parts(steps, clock_at(210));
    REQUIRE(parts.size() == 4);
    CHECK(parts[0].words == "until blue is mixed and usable");
    CHECK(parts[0].to == clock_at(90));
    CHECK(parts[1].words == "own work, coat A-1");
    CHECK(parts[2].words == "waiting for table (busy with its other screens)");
    CHECK(parts[2].from == clock_at(100));
    // Ben, who does it, was away from 120 to 190.
    steps.back().away = {{"Ben is there", clock_at(120), clock_at(190)}};
    parts = chain_parts(steps, clock_at(210));
    REQUIRE(parts.size() == 6);
    CHECK(parts[2].words == "waiting for table (busy with its other screens)");
    CHECK(parts[3].words == "until Ben is there");
    CHECK(parts[3].from == clock_at(120));
    CHECK(parts[3].to == clock_at(190));
    CHECK(parts[4].to == clock_at(200));
}

TEST_CASE("at most six parts, and their minutes add up", "[report][chain]") {
    std::vector<ChainStep> steps;
    int at = 0;
    for (int k = 0; k < 60; ++k) {
        steps.push_back({.start = clock_at(at, 17 * k % 60),
                         .own = k % 3 != 0,
                         .work = "step " + std::to_string(k),
                         .order = k % 3 != 0 ? "A" : "B" + std::to_string(k % 7),
                         .resource = k % 2 == 0 ? "Ada" : "Ben"});
        at += 1 + k * 7 % 11;
    }
    const auto parts = chain_parts(steps, clock_at(at, 59));
    REQUIRE(!parts.empty());
    CHECK(parts.size() <= 6);
    Seconds sum{0};
    for (std::size_t k = 0; k < parts.size(); ++k) {
        CHECK(parts[k].to > parts[k].from);
        if (k > 0) CHECK(parts[k].from == parts[k - 1].to);
        sum += parts[k].to - parts[k].from;
    }
    CHECK(sum == clock_at(at + 1) - clock_at(0));  // shown, minutes are rounded up
    CHECK(chain_parts({}, clock_at(10)).empty());
}

TEST_CASE("a story names what its beginning waited for", "[report][chain]") {
    RunLine run;
    run.first_start = clock_at(0);
    const std::vector<ChainPart> parts = {{clock_at(570), clock_at(663), "own work, expose A-1"}};
    CHECK(chain_story(run, "", parts) == " From 09:30: 1 h 33 min own work, expose A-1.");
    CHECK(chain_story(run, "its film is there at", parts) ==
          " Its film is there at 09:30. From then: 1 h 33 min own work, expose A-1.");
    CHECK(chain_story(run, "Bea is there at", parts) ==
          " Bea is there at 09:30. From then: 1 h 33 min own work, expose A-1.");
    CHECK(chain_story(run, "its film is there at", {}).empty());
}
