// Simulated days: a plan followed through replications, and the room over weeks of orders.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "model/read/scenario.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/simulate/long_run.hpp"
#include "sched/simulate/replicate.hpp"

namespace {

using namespace sched;

struct Planned {
    model::Scenario scenario;
    compile::CompileOptions options;
    compile::RoomProblem room;
    core::Schedule plan;  // by the rule "edd"
};

std::optional<Planned> planned(const std::string& name) {
    model::Diagnostics diagnostics;
    auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/" + name, diagnostics);
    if (!scenario) return std::nullopt;
    auto first = scenario->orders.front().due;
    for (const auto& o : scenario->orders)
        first = std::min(first, o.due);
    const compile::CompileOptions options{.start = model::midnight(model::date_of(first))};
    auto room = compile::compile_room(*scenario, options, diagnostics);
    if (!room) return std::nullopt;
    const engine::CompiledProblem compiled(room->problem);
    engine::Decoder decoder(compiled);
    const auto views = engine::rule_views(compiled);
    for (const auto& rule : engine::rules()) {
        if (std::string(rule.name) == "edd" &&
            !decoder.decode(engine::rule_sequence(compiled, views, rule)))
            return std::nullopt;
    }
    core::Schedule plan = decoder.to_schedule();
    return Planned{*std::move(scenario), options, *std::move(room), std::move(plan)};
}

// Items: replications. mean_ready_h: mean over the orders, so that faster-but-other shows.
void replications(benchmark::State& state, const std::string& name) {
    const auto p = planned(name);
    if (!p) {
        state.SkipWithError("the scenario has no plan");
        return;
    }
    study::ReplicateOptions options;
    options.replications = 200;
    double ready = 0.0;
    for (auto _ : state) {
        const auto found = study::replicate(p->scenario, p->options, p->room, &p->plan, options);
        ready = 0.0;
        for (const auto& o : found->orders)
            ready += o.ready.mean / 3600.0 / static_cast<double>(found->orders.size());
    }
    state.SetItemsProcessed(state.iterations() * 200);
    state.counters["mean_ready_h"] = ready;
}

// Items: working days.
void weeks(benchmark::State& state, double orders_a_day) {
    const auto p = planned("tomorrow");
    study::LongRunOptions options;
    options.days = 50;
    const auto week = study::open_week(p->scenario.room);
    options.arrivals = study::even_arrivals(orders_a_day, week.weekdays, 7, 15,
                                            std::vector<double>(p->scenario.orders.size(), 1.0));
    double screens = 0.0, turnaround = 0.0;
    for (auto _ : state) {
        const auto run = study::run_long(p->scenario, p->options, options);
        screens = static_cast<double>(run->screens_out) / run->days;
        turnaround = run->turnaround.mean / 3600.0;
    }
    state.SetItemsProcessed(state.iterations() * options.days);
    state.counters["screens_a_day"] = screens;
    state.counters["turnaround_h"] = turnaround;
}

BENCHMARK_CAPTURE(replications, tomorrow, "tomorrow")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(replications, big_day, "big-day")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(weeks, tomorrow, 16.0)->Unit(benchmark::kMillisecond);

}  // namespace
