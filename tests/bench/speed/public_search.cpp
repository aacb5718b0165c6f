// Moves and schedules a second of the searches over public instances: a fixed number with a fixed
// seed; `value` is the objective reached.

#include <fstream>
#include <sstream>
#include <string>

#include <benchmark/benchmark.h>

#include "sched/search/solve.hpp"
#include "tests/classes/instance_shop.hpp"

namespace {

using sched::compile::ShopFormat;

void public_search(benchmark::State& state, const std::string& file, ShopFormat format,
                   std::int64_t evaluations) {
    std::ifstream in(std::string(COATROOM_SOURCE) + "/tests/data/benchmarks/" + file);
    std::ostringstream text;
    text << in.rdbuf();
    model::Diagnostics diagnostics;
    const auto problem = sched::compile::read_shop(text.str(), file, format, diagnostics);
    if (!problem) {
        state.SkipWithError("the instance cannot be read");
        return;
    }
    std::int64_t done = 0;
    for (auto _ : state) {
        sched::search::SearchOptions options;
        options.budget.evaluations = evaluations;
        const auto s = sched::search::solve(*problem, options);
        done += s.evaluations;
        state.counters["value"] = static_cast<double>(s.value.parts[0]);
    }
    state.SetItemsProcessed(done);
}

}  // namespace

BENCHMARK_CAPTURE(public_search, job_shop_10x10, "jsp/ft10.txt", ShopFormat::JobShop, 100'000)
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(public_search, flexible_15x8, "fjsp/mk04.txt", ShopFormat::FlexibleJobShop,
                  50'000)
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(public_search, flow_50x5x3, "hfs/pra0003_50x5_c3.txt", ShopFormat::HybridFlowShop,
                  20'000)
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(public_search, tardiness_10x10, "jsp-twt/orb02_f16.txt",
                  ShopFormat::TardinessJobShop, 200'000)
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(public_search, project_30, "rcpsp/j30_13_4.rcp", ShopFormat::Project, 10'000)
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(public_search, project_120, "rcpsp/j120_1_2.rcp", ShopFormat::Project, 10'000)
    ->Unit(benchmark::kMillisecond);
