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

// The checker is the judge. Work takes longer than planned, drying too, and one job is not in the
// plan: it must not count on anybody's leaving when the plan says.
TEST_CASE("a day that leaves its plan keeps every rule", "[engine][follow]") {
    using namespace sched;
    int ended = 0, broken = 0;
    std::string first;
    for (std::uint64_t seed = 1; seed <= 150; ++seed) {
        const core::Problem problem = random_room::make(seed);
        const CompiledProblem compiled(problem);
        Decoder planner(compiled);
        if (!planner.decode({})) continue;
        const Agreements agreements(compiled, planner.to_schedule());
        random_room::Draw draw(seed * 1013);
        core::Problem day = problem;
        for (auto& operation : day.operations) {
            if (draw.below(4) != 0) continue;
            for (auto& mode : operation.modes) {
                mode.work += mode.work / 3;
                for (auto& stage : mode.stages)
                    stage.work *= 1.3;
            }
        }
        const CompiledProblem longer(day);
        Decoder decoder(longer);
        for (const Recourse how : {Recourse::Free, Recourse::Order, Recourse::Times}) {
            const auto stranger = draw.below(static_cast<int>(problem.jobs.size()));
            std::vector<std::int32_t> place(problem.operations.size());
            for (std::size_t i = 0; i < place.size(); ++i)
                place[i] =
                    problem.operations[i].job.value == stranger ? -1 : static_cast<std::int32_t>(i);
            Baseline baseline;
            baseline.set(longer, agreements, place, how);
            Sequence follow;
            follow.rank = agreements.rank();
            follow.lookahead = 0;
            follow.keeps_turn = true;
            follow.baseline = &baseline;
            if (!decoder.decode(follow)) continue;
            ++ended;
            for (const auto& v : check::check(day, decoder.to_schedule())) {
                ++broken;
                if (first.empty()) first = "seed " + std::to_string(seed) + ": " + v.words;
            }
        }
    }
    INFO(first);
    CHECK(ended > 200);
    CHECK(broken == 0);
}
