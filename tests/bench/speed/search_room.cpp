// Evaluations a second of the real search over rooms, one thread: rules, blends, annealing. An
// evaluation is one sequence looked at, also one whose run was given up by its cutoff or repeats
// the present one; `value` is the weighted tardiness reached.

#include <string>

#include <benchmark/benchmark.h>

#include "sched/search/room/room_search.hpp"
#include "tests/bench/room_workloads.hpp"

namespace {

void search_room(benchmark::State& state, const std::string& scenario, int repeat,
                 std::int64_t evaluations) {
    const auto problem = room_workloads::make(
        std::string(COATROOM_SOURCE) + "/scenarios/" + scenario, {.repeat = repeat});
    if (!problem) {
        state.SkipWithError("the scenario cannot be compiled");
        return;
    }
    std::int64_t done = 0;
    for (auto _ : state) {
        sched::search::SearchOptions options;
        options.budget.evaluations = evaluations;
        const auto s = sched::search::search_room(*problem, options);
        done += s.evaluations;
        if (!s.value.parts.empty())
            state.counters["value"] = static_cast<double>(s.value.parts.front());
    }
    state.SetItemsProcessed(done);
    state.counters["screens"] = static_cast<double>(problem->jobs.size());
}

}  // namespace

BENCHMARK_CAPTURE(search_room, 40_screens, "tomorrow", 1, 6'000)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(search_room, 120_screens, "big-day", 1, 2'000)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(search_room, 480_screens, "big-day", 4, 200)->Unit(benchmark::kMillisecond);
