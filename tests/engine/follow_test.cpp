// A plan that is followed is the plan, second for second, as long as nothing turns out otherwise:
// every recourse, whatever the plan waits for, shared exposures, pots, large frames and breaks
// included. The plan comes from the decoder with random ranks, delays and choices; that following
// gives it back is the definition of following, so that the plan is the judge.

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "tests/catch.hpp"
#include "tests/engine/follow_rooms.hpp"

using namespace sched::engine;

TEST_CASE("with the planned lengths a followed plan is the plan", "[engine][follow]") {
    follow_rooms::Tally tally;
    for (std::uint64_t seed = 1; seed <= 100; ++seed)
        follow_rooms::compare(seed, tally);
    INFO(tally.first);
    CHECK(tally.plans > 250);
    CHECK(tally.same == tally.runs);
}
