#include "sched/engine/execute/execute.hpp"

#include "sched/check/checker.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched::engine;

TEST_CASE("planned durations give back the plan, second for second", "[engine][execute]") {
    int plans = 0;
    for (std::uint64_t seed = 1; seed <= 200; ++seed) {
        const auto problem = random_room::make(seed);
        const CompiledProblem compiled(problem);
        Decoder decoder(compiled);
        Sequence s;
        random_room::Draw draw(seed);
        s.rank.resize(problem.operations.size());
        for (auto& r : s.rank)
            r = draw.below(1000);
        if (seed % 2 == 0) {
            s.delay.resize(s.rank.size());
            for (auto& d : s.delay)
                d = draw.below(3) == 0 ? draw.below(900) : 0;
        }
        if (!decoder.decode(s)) continue;
        ++plans;
        Executor executor(compiled);
        executor.plan(decoder.schedule());
        const auto& result = executor.run(Durations::planned(compiled));
        INFO("seed " << seed);
        REQUIRE(result.complete);
        CHECK(result.misses.empty());
        CHECK(result.substitutions == 0);
        CHECK(result.overrun == 0);
        CHECK(executor.happened().start == decoder.schedule().start);
        CHECK(executor.happened().work_end == decoder.schedule().work_end);
        CHECK(executor.happened().end == decoder.schedule().end);
    }
    CHECK(plans > 100);
}

TEST_CASE("longer work: every operation still happens, order kept, limits missed are counted",
          "[engine][execute]") {
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const auto problem = random_room::make(seed);
        const CompiledProblem compiled(problem);
        if (compiled.batches) continue;
        Decoder decoder(compiled);
        if (!decoder.decode({})) continue;
        Executor executor(compiled);
        executor.plan(decoder.schedule());
        Durations d;
        random_room::Draw draw(seed);
        d.fill(compiled, [&](sched::core::OperationId op, int mode) {
            const auto& m = problem.operations[op.index()].modes[static_cast<std::size_t>(mode)];
            return ActualDuration{m.work.count() * (80 + draw.below(60)) / 100,
                                  0.8 + 0.01 * draw.below(60)};
        });
        const auto& result = executor.run(d);
        INFO("seed " << seed);
        REQUIRE(result.complete);
        // What happened is a right schedule of the problem with the durations that it had, but for
        // limits that are counted as missed.
        auto real = problem;
        for (std::size_t i = 0; i < real.operations.size(); ++i) {
            for (std::size_t k = 0; k < real.operations[i].modes.size(); ++k) {
                auto& m = real.operations[i].modes[k];
                const auto at = static_cast<std::size_t>(compiled.operations[i].modes.begin) + k;
                m.work = sched::core::Seconds{d.work[at]};
                for (auto& s : m.stages)
                    s.work *= d.drying[at];
            }
        }
        int lags = 0;
        for (const auto& v :
             sched::check::check(real, to_schedule(compiled, executor.happened()))) {
            using sched::check::Rule;
            INFO(v.words);
            const bool counted = v.rule == Rule::TimeLag || v.rule == Rule::Stretch;
            const bool overran = v.rule == Rule::Calendar && result.overrun > 0;
            lags += counted;
            CHECK((counted || overran));
        }
        CHECK(static_cast<std::size_t>(lags) == result.misses.size());
    }
}

TEST_CASE("a rule without a plan meets the real lengths and keeps every limit",
          "[engine][execute]") {
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
        auto problem = random_room::make(seed);
        const CompiledProblem compiled(problem);
        Durations d;
        random_room::Draw draw(seed + 7);
        d.fill(compiled, [&](sched::core::OperationId op, int mode) {
            const auto& m = problem.operations[op.index()].modes[static_cast<std::size_t>(mode)];
            return ActualDuration{m.work.count() * (90 + draw.below(20)) / 100,
                                  0.8 + 0.01 * draw.below(40)};
        });
        CompiledProblem mine(compiled);
        mine.set_durations(compiled, d.work, d.drying);
        Decoder decoder(mine);
        if (!decoder.decode({})) continue;
        for (std::size_t i = 0; i < problem.operations.size(); ++i) {
            for (std::size_t k = 0; k < problem.operations[i].modes.size(); ++k) {
                auto& m = problem.operations[i].modes[k];
                const auto at = static_cast<std::size_t>(compiled.operations[i].modes.begin) + k;
                m.work = sched::core::Seconds{d.work[at]};
                for (auto& s : m.stages)
                    s.work *= d.drying[at];
            }
        }
        INFO("seed " << seed);
        CHECK(sched::check::check(problem, decoder.to_schedule()).empty());
    }
}
