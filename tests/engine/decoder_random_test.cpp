// Small random problems with everything in them: whatever the decoder returns, the independent
// checker passes.

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched::engine;

TEST_CASE("every decoded schedule of random rooms passes the checker", "[engine][decoder]") {
    // What is refused with loose limits (loose_limits.cpp) is decoded again with tied ones, as
    // simulated days and searches without any plan have it.
    int complete = 0, refused = 0, refused_loose = 0;
    for (std::uint64_t seed = 1; seed <= 300; ++seed) {
        const auto problem = random_room::make(seed);
        auto tied_problem = problem;
        tied_problem.ties = sched::core::Ties::All;
        const CompiledProblem tied_compiled(tied_problem);
        Decoder tied(tied_compiled);
        REQUIRE(sched::core::validate(problem).empty());
        const CompiledProblem compiled(problem);
        Decoder decoder(compiled);
        random_room::Draw draw(seed * 977);
        for (int round = 0; round < 8; ++round) {
            Sequence s;
            const std::size_t n = problem.operations.size();
            s.rank.resize(n);
            for (auto& r : s.rank)
                r = draw.below(1000);
            if (round % 2 == 1) {
                s.delay.resize(n);
                for (auto& d : s.delay)
                    d = draw.below(4) == 0 ? draw.below(1200) : 0;
                s.choice.resize(n);
                for (auto& c : s.choice)
                    c = static_cast<std::uint8_t>(draw.below(3));
                s.join.resize(n);
                for (auto& j : s.join)
                    j = static_cast<std::uint8_t>(draw.below(2));
            }
            if (round % 4 >= 2) s.lookahead = draw.below(2) == 0 ? 600 : never;
            const bool loose = decoder.decode(s);
            if (!loose) {
                ++refused_loose;
                CHECK(decoder.failure().why != Obstacle::None);
                if (!tied.decode(s)) {
                    ++refused;
                    continue;
                }
            }
            ++complete;
            const auto schedule = (loose ? decoder : tied).to_schedule();
            const auto wrong = sched::check::check(problem, schedule);
            INFO("seed " << seed << " round " << round
                         << (wrong.empty() ? "" : ": " + wrong.front().words));
            REQUIRE(wrong.empty());
            CHECK((loose ? decoder : tied).value() ==
                  sched::core::evaluate(problem, schedule).parts);
        }
    }
    INFO(complete << " complete, " << refused << " refused");
    CHECK(complete > 20 * refused);
    CHECK(complete > 15 * refused_loose);
}
