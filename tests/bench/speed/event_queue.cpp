// The event list at constant size: one event out, one in (the "hold" model of Jones 1986).

#include <benchmark/benchmark.h>

#include "sched/engine/event_queue.hpp"
#include "sched/search/base/rng.hpp"

namespace {

void event_queue_hold(benchmark::State& state) {
    sched::engine::EventQueue queue;
    sched::search::Rng rng(1);
    const auto size = static_cast<std::uint32_t>(state.range(0));
    for (std::uint32_t k = 0; k < size; ++k)
        queue.push(rng.below(1 << 20), k, 0);
    for (auto _ : state) {
        const auto e = queue.pop();
        queue.push(e.time + rng.below(1 << 20), e.what, 0);
    }
    state.SetItemsProcessed(state.iterations());
}

}  // namespace

BENCHMARK(event_queue_hold)->RangeMultiplier(10)->Range(100, 1'000'000);
