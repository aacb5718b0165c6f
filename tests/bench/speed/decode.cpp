// Evaluations a second: whole rooms through the decoder. One evaluation = one sequence decoded to a
// schedule and its value. The sequences are those of the best rule with 1 to 32 blocks put
// elsewhere, made beforehand; `value` sums the first criterion over all of them, so that
// faster-but-different shows; `allocations` counts calls of operator new a decode once warm, which
// must be 0.

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

#include <benchmark/benchmark.h>

#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/base/rng.hpp"
#include "tests/bench/room_workloads.hpp"
#include "tests/bench/speed/allocations.hpp"

namespace {

namespace core = sched::core;
namespace engine = sched::engine;

engine::Sequence best_rule_sequence(const engine::CompiledProblem& compiled) {
    const auto views = engine::rule_views(compiled);
    engine::Decoder decoder(compiled);
    engine::Sequence best;
    std::vector<std::int64_t> best_value;
    for (const auto& rule : engine::rules()) {
        auto s = engine::rule_sequence(compiled, views, rule);
        s.lookahead = 0;
        if (!decoder.decode(s)) continue;
        if (best_value.empty() || decoder.value() < best_value) {
            best_value = decoder.value();
            best = std::move(s);
        }
    }
    return best;
}

std::vector<engine::Sequence> near_sequences(const engine::CompiledProblem& compiled) {
    const engine::Sequence best = best_rule_sequence(compiled);
    std::vector<engine::Sequence> out;
    sched::search::Rng rng(7);
    const int n = static_cast<int>(compiled.operations.size());
    for (int k = 0; k < 32; ++k) {
        engine::Sequence s = best;
        for (int change = 0; change <= k; ++change) {
            const auto& block = compiled.blocks[static_cast<std::size_t>(
                rng.below(static_cast<int>(compiled.blocks.size())))];
            const std::int32_t to = rng.below(n);
            for (const std::int32_t op : compiled.ops_of(block))
                s.rank[static_cast<std::size_t>(op)] = to;
        }
        out.push_back(std::move(s));
    }
    return out;
}

// The same room with typed minutes: every drying lasts as long as alone beside `others` of load.
void type_minutes(core::Problem& problem, double others) {
    const engine::CompiledProblem compiled(problem);
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const engine::CompiledOperation& o = compiled.operations[i];
        for (std::size_t k = 0; k < problem.operations[i].modes.size(); ++k) {
            core::Mode& mode = problem.operations[i].modes[k];
            if (mode.stages.empty()) continue;
            const auto& m = compiled.modes[static_cast<std::size_t>(o.modes.begin) + k];
            const auto& r = compiled.resources[mode.needs.front().any_of.front().index()];
            const auto span = engine::drying_span(compiled.steps_of(r), compiled.stages_of(m),
                                                  compiled.horizon_start, others);
            mode.work = std::max(mode.work, core::Seconds{engine::round_up_ticks(*span)});
            mode.stages.clear();
        }
    }
    for (auto& r : problem.resources)
        r.shared.reset();
}

void decode_room(benchmark::State& state, const std::string& scenario, int repeat, bool typed) {
    auto problem = room_workloads::make(std::string(COATROOM_SOURCE) + "/scenarios/" + scenario,
                                        {.repeat = repeat});
    if (!problem) {
        state.SkipWithError("the scenario cannot be compiled");
        return;
    }
    if (typed) type_minutes(*problem, 1.0);
    const engine::CompiledProblem compiled(*problem);
    const auto sequences = near_sequences(compiled);
    engine::Decoder decoder(compiled);
    std::size_t k = 0;
    std::int64_t sum = 0, refused = 0;
    for (const auto& s : sequences) {
        if (decoder.decode(s))
            sum += decoder.value().front();
        else
            ++refused;
    }
    const std::int64_t asked = allocations();
    for (auto _ : state) {
        benchmark::DoNotOptimize(decoder.decode(sequences[k]));
        benchmark::DoNotOptimize(decoder.value().data());
        if (++k == sequences.size()) k = 0;
    }
    const auto each = [&](std::int64_t n) {
        return benchmark::Counter(static_cast<double>(n), benchmark::Counter::kAvgIterations);
    };
    state.counters["allocations"] = each(allocations() - asked);
    state.SetItemsProcessed(state.iterations());
    state.counters["screens"] = static_cast<double>(problem->jobs.size());
    state.counters["operations"] = static_cast<double>(compiled.operations.size());
    state.counters["value"] = static_cast<double>(sum);
    state.counters["refused"] = static_cast<double>(refused);
}

// As the search decodes: each sequence is the held one with one block put elsewhere, and a run that
// is worth less than the held one is given up.
void decode_near(benchmark::State& state, const std::string& scenario, int repeat) {
    const auto problem = room_workloads::make(
        std::string(COATROOM_SOURCE) + "/scenarios/" + scenario, {.repeat = repeat});
    if (!problem) {
        state.SkipWithError("the scenario cannot be compiled");
        return;
    }
    const engine::CompiledProblem compiled(*problem);
    const engine::Sequence best = best_rule_sequence(compiled);
    std::vector<engine::Sequence> sequences;
    sched::search::Rng rng(11);
    const int blocks = static_cast<int>(compiled.blocks.size());
    std::vector<std::int32_t> order(compiled.blocks.size());
    for (int k = 0; k < 64; ++k) {
        // One block goes up to a tenth of the list sooner or later; all others keep their order.
        for (std::size_t b = 0; b < order.size(); ++b)
            order[b] = static_cast<std::int32_t>(b);
        const auto rank = [&](std::int32_t b) {
            return best.rank[static_cast<std::size_t>(
                compiled.ops_of(compiled.blocks[static_cast<std::size_t>(b)]).front())];
        };
        std::sort(order.begin(), order.end(),
                  [&](std::int32_t a, std::int32_t b) { return rank(a) < rank(b); });
        const int from = rng.below(blocks), span = std::max(1, blocks / 10);
        const int to = std::clamp(from + rng.below(2 * span + 1) - span, 0, blocks - 1);
        const std::int32_t moved = order[static_cast<std::size_t>(from)];
        order.erase(order.begin() + from);
        order.insert(order.begin() + to, moved);
        engine::Sequence s = best;
        for (std::size_t place = 0; place < order.size(); ++place) {
            for (const std::int32_t op :
                 compiled.ops_of(compiled.blocks[static_cast<std::size_t>(order[place])]))
                s.rank[static_cast<std::size_t>(op)] = static_cast<std::int32_t>(place);
        }
        sequences.push_back(std::move(s));
    }
    engine::Decoder decoder(compiled);
    if (!decoder.decode_near(best)) {
        state.SkipWithError("the best rule leads to no schedule");
        return;
    }
    decoder.hold();
    const std::vector<std::int64_t> value = decoder.value();
    engine::Cutoff cutoff;
    cutoff.value = value;
    for (const auto& s : sequences)
        decoder.decode_near(s, &cutoff);
    const engine::Decoder::Counters before = decoder.counters();
    const std::int64_t asked = allocations();
    std::size_t k = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(decoder.decode_near(sequences[k], &cutoff));
        if (++k == sequences.size()) k = 0;
    }
    const auto each = [&](std::int64_t n) {
        return benchmark::Counter(static_cast<double>(n), benchmark::Counter::kAvgIterations);
    };
    const engine::Decoder::Counters now = decoder.counters();
    state.counters["allocations"] = each(allocations() - asked);
    state.counters["whole"] = each(now.whole - before.whole);
    state.counters["resumed"] = each(now.resumed - before.resumed);
    state.counters["repeated"] = each(now.repeated - before.repeated);
    state.counters["given_up"] = each(now.given_up - before.given_up);
    state.SetItemsProcessed(state.iterations());
}

}  // namespace

BENCHMARK_CAPTURE(decode_room, 40_screens, "tomorrow", 1, false)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(decode_room, 120_screens, "big-day", 1, false)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(decode_room, 480_screens, "big-day", 4, false)->Unit(benchmark::kMicrosecond);
// The price of the drying clock: 120_screens against this.
BENCHMARK_CAPTURE(decode_room, 120_screens_typed_minutes, "big-day", 1, true)
    ->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(decode_near, 40_screens, "tomorrow", 1)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(decode_near, 120_screens, "big-day", 1)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(decode_near, 480_screens, "big-day", 4)->Unit(benchmark::kMicrosecond);
