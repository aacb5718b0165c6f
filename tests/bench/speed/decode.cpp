// Evaluations a second: whole rooms through the decoder. One evaluation = one sequence decoded to a
// schedule and its value. The sequences are those of the best rule with 1 to 40 blocks put
// elsewhere, made beforehand; `value` sums the first criterion over all of them, so that
// faster-but-different shows.

#include <cstdint>
#include <string>
#include <vector>

#include <benchmark/benchmark.h>

#include "sched/engine/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/rng.hpp"
#include "tests/bench/room_workloads.hpp"

namespace {

namespace engine = sched::engine;

std::vector<engine::Sequence> decode_sequences(const engine::CompiledProblem& compiled) {
    const auto views = engine::rule_views(compiled);
    engine::Decoder decoder(compiled);
    engine::Sequence best;
    std::vector<std::int64_t> best_value;
    for (const auto& rule : engine::rules()) {
        auto s = engine::rule_sequence(compiled, views, rule);
        if (!decoder.decode(s)) continue;
        if (best_value.empty() || decoder.value() < best_value) {
            best_value = decoder.value();
            best = std::move(s);
        }
    }
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

void decode_room(benchmark::State& state, const std::string& scenario, int repeat) {
    const auto problem = room_workloads::make(
        std::string(COATROOM_SOURCE) + "/scenarios/" + scenario, {.repeat = repeat});
    if (!problem) {
        state.SkipWithError("the scenario cannot be compiled");
        return;
    }
    const engine::CompiledProblem compiled(*problem);
    const auto sequences = decode_sequences(compiled);
    engine::Decoder decoder(compiled);
    std::size_t k = 0;
    std::int64_t sum = 0, refused = 0;
    for (const auto& s : sequences) {
        if (decoder.decode(s))
            sum += decoder.value().front();
        else
            ++refused;
    }
    for (auto _ : state) {
        benchmark::DoNotOptimize(decoder.decode(sequences[k]));
        benchmark::DoNotOptimize(decoder.value().data());
        if (++k == sequences.size()) k = 0;
    }
    state.SetItemsProcessed(state.iterations());
    state.counters["screens"] = static_cast<double>(problem->jobs.size());
    state.counters["operations"] = static_cast<double>(compiled.operations.size());
    state.counters["value"] = static_cast<double>(sum);
    const auto each = [&](std::int64_t n) {
        return benchmark::Counter(static_cast<double>(n), benchmark::Counter::kAvgIterations);
    };
    state.counters["tried"] = each(decoder.counters().tried);
    state.counters["placed"] = each(decoder.counters().placed);
    state.counters["instants"] = each(decoder.counters().instants);
    state.counters["blocks"] = static_cast<double>(compiled.blocks.size());
    state.counters["refused"] = static_cast<double>(refused);
}

}  // namespace

BENCHMARK_CAPTURE(decode_room, 40_screens, "tomorrow", 1)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(decode_room, 120_screens, "big-day", 1)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(decode_room, 500_screens, "big-day", 4)->Unit(benchmark::kMicrosecond);
