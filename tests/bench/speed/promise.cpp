// "When can it be ready?": opening the desk (what is promised is planned and simulated) and one
// answer, with what `coatroom promise` and the board's /promise use by default.

#include <benchmark/benchmark.h>

#include <memory>
#include <string>

#include "model/read/scenario.hpp"
#include "sched/promise/enquiry.hpp"
#include "sched/promise/promise.hpp"
#include "sched/report/promise/promise_json.hpp"

namespace {

using namespace sched::study;

std::unique_ptr<PromiseDesk> open_desk(const std::string& folder, int threads) {
    model::Diagnostics diagnostics;
    const auto scenario =
        model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/" + folder, diagnostics);
    if (!scenario) return nullptr;
    PromiseOptions options;
    options.threads = threads;
    options.compile.start = model::midnight(model::date_of(scenario->orders.front().due));
    for (const auto& order : scenario->orders) {
        options.compile.start =
            std::min(options.compile.start, model::midnight(model::date_of(order.due)));
    }
    std::string problem;
    return PromiseDesk::open(*scenario, options, diagnostics, problem);
}

void promise_open(benchmark::State& state, const char* folder) {
    for (auto _ : state) {
        if (!open_desk(folder, 2)) return state.SkipWithError("the desk does not open");
    }
}

// One answer as the service gives it, JSON included.
void promise_answer(benchmark::State& state, const char* folder) {
    const auto desk = open_desk(folder, 2);
    if (!desk) return state.SkipWithError("the desk does not open");
    std::string problem;
    const auto line = line_of(
        desk->scenario(), {.count = 1, .mesh = "43-80", .frame = "58x84", .coats = "1+1"}, problem);
    if (!line) return state.SkipWithError(problem.c_str());
    Enquiry enquiry;
    enquiry.lines.push_back(*line);
    Promise promise;
    for (auto _ : state) {
        promise = desk->ask(enquiry);
        benchmark::DoNotOptimize(sched::report::promise_to_json(promise));
    }
    if (!promise.recommended) state.SkipWithError(promise.impossible.c_str());
    state.counters["days"] = static_cast<double>(promise.days);
    state.counters["kept"] = promise.recommended_odds.share;
}

BENCHMARK_CAPTURE(promise_open, tomorrow, "tomorrow")->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(promise_answer, tomorrow, "tomorrow")
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();
BENCHMARK_CAPTURE(promise_open, big_day, "big-day")->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(promise_answer, big_day, "big-day")->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
