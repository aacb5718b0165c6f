// coatroom plan: read -> compile -> solve -> check -> document -> write.

#include <algorithm>
#include <cstdio>
#include <optional>

#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/advise/pause_search.hpp"
#include "sched/advise/what_if.hpp"
#include "sched/app/parts/budget.hpp"
#include "sched/app/parts/chances.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/other_ways.hpp"
#include "sched/app/parts/pinned.hpp"
#include "sched/app/parts/replanning.hpp"
#include "sched/app/parts/returned.hpp"
#include "sched/app/parts/verdict.hpp"
#include "sched/app/parts/version.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/objective.hpp"
#include "sched/core/pauses.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/outputs.hpp"
#include "sched/report/plan/text.hpp"
#include "sched/report/plan/what_if_lines.hpp"

namespace sched::app {

namespace {

// Where the run begins: --from, or midnight of --date, or of the first due date.
std::optional<model::SimTime> start_of(const PlanArgs& args, const model::Scenario& scenario) {
    if (!args.start.empty()) {
        const auto t = model::parse_date_time(args.start);
        if (!t) {
            std::fprintf(stderr,
                         "coatroom plan: --from %s is no local date and time. Write it as "
                         "2026-11-26T10:40.\n",
                         args.start.c_str());
        }
        return t;
    }
    if (!args.date.empty()) {
        const auto d = model::parse_date(args.date);
        if (!d) {
            std::fprintf(stderr, "coatroom plan: --date %s is no date. Write it as 2026-11-26.\n",
                         args.date.c_str());
            return std::nullopt;
        }
        return model::midnight(*d);
    }
    std::optional<model::SimTime> first;
    for (const auto& order : scenario.orders) {
        const auto day = model::midnight(model::date_of(order.due));
        first = first ? std::min(*first, day) : day;
    }
    return first.value_or(model::SimTime{});
}

std::string progress_text(const core::Problem& problem, const search::Progress& p) {
    std::string text = "searching: " + std::to_string(p.evaluations) + " schedules";
    if (p.value && !p.value->parts.empty()) {
        const auto best = p.value->parts.front();
        text += ", best " + core::words(problem.objective.front()) + " ";
        switch (problem.objective.front()) {
            case core::Criterion::WeightedTardiness:
            case core::Criterion::Overtime:
            case core::Criterion::Makespan:
            case core::Criterion::Holding:
            case core::Criterion::FlowTime:
                text += model::format_duration(core::Seconds{best});
                break;
            case core::Criterion::LateOrders:
                text += std::to_string(best);
                break;
        }
    }
    return text + " (Ctrl-C keeps the best so far)";
}

// The horizon is twice as long as until the last due date, so that what comes late, over a weekend
// too, still has a plan.
compile::CompileOptions compile_options(const PlanArgs& args, model::SimTime start,
                                        const model::Scenario& scenario) {
    compile::CompileOptions options{.start = start, .day_kind = args.day};
    for (const auto& order : scenario.orders) {
        const auto days = std::chrono::ceil<std::chrono::days>(order.due - start).count();
        options.days = std::max(options.days, 2 * static_cast<int>(days) + 1);
    }
    return options;
}

}  // namespace

int run_plan(const PlanArgs& args) {
    auto options = search_options(args.search);
    if (!options) return BadInput;
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics);
    if (!scenario) {
        print_diagnostics(diagnostics, args.json);
        return BadInput;
    }
    Midday midday;
    if (const auto status = read_midday(args, midday)) return *status;
    const bool as_asked = !args.start.empty() || !args.date.empty();
    const auto start = midday.posted && !as_asked ? start_of(midday) : start_of(args, *scenario);
    if (!start || !set_now(args, *start, midday)) return BadInput;
    auto room =
        compile::compile_room(*scenario, compile_options(args, *start, *scenario), diagnostics);
    const bool days_simulated = args.replications > 0 || args.precision.has_value();
    const bool simulated = days_simulated || args.robust > 0;
    const auto chances = simulated ? model::read_chance(*scenario, diagnostics)
                                   : std::optional(model::ChanceFiles{});
    const auto begun = room ? begin_midday(args, midday, *room, diagnostics) : std::nullopt;
    print_diagnostics(diagnostics, args.json);
    if (!room || !chances) return BadInput;
    if (begun) return *begun;
    auto how_compiled = compile_options(args, *start, *scenario);
    const ChanceOfPlan disturbances{.args = args,
                                    .scenario = *scenario,
                                    .compile_options = how_compiled,
                                    .room = *room,
                                    .search = *options,
                                    .chance = study::Chance::of(chances->chance, *scenario)};
    core::Problem pinned;
    if (const auto status = hold_pins(args, *room, pinned)) return *status;

    // What would help costs a part of the budget, not more on top of it.
    const search::Budget whole = options->budget;
    search::Budget rest;
    if (args.what_if) {
        if (whole.seconds) {
            options->budget.seconds = 0.7 * *whole.seconds;
            rest.seconds = 0.3 * *whole.seconds;
        }
        if (whole.evaluations) {
            rest.evaluations = *whole.evaluations * 3 / 10;
            options->budget.evaluations = std::max<std::int64_t>(1, *whole.evaluations * 7 / 10);
        }
    }
    core::Solution solution;
    {
        ProgressLine line;
        if (!args.quiet) {
            options->progress = [&](const search::Progress& p) {
                line.show(progress_text(room->problem, p));
            };
        }
        if (args.robust > 1) {
            std::string words;
            solution = midday.posted ? plan_again_robust(disturbances, pinned, midday, words)
                                     : solve_robust(disturbances, pinned, words);
            if (!words.empty()) std::fprintf(stderr, "robust: %s\n", words.c_str());
        } else if (midday.posted) {
            solution = plan_again(*room, pinned, *options, midday);
        } else {
            auto found = search::solve_with_pauses(pinned, *options);
            solution = std::move(found.solution);
            pinned = std::move(found.problem);
        }
        core::place_pauses(room->problem, pinned.pauses);
        how_compiled.pauses = pinned.pauses;
        if (!solution.schedule && midday.now)
            solution = plan_with_limits_missed(*room, pinned, *options, midday);
    }
    if (!solution.schedule) {
        print_no_plan(*room, solution);
        return No;
    }
    if (!passes(pinned, *solution.schedule) || !passes(room->problem, *solution.schedule))
        return No;

    const report::PlanFacts facts{.version = version,
                                  .inputs = input_files(args.scenario),
                                  .seed = args.search.seed,
                                  .budget_seconds = whole.seconds,
                                  .budget_evaluations = whole.evaluations,
                                  .diagnostics = diagnostics.all()};
    std::optional<FilledPlan> filled =
        fill_returns(args, *scenario, how_compiled, *room, solution, begun_returns(midday));
    if (!passes(filled->pinned, *filled->solution.schedule)) return No;
    auto document = report::make_plan_document(*scenario, filled->room, filled->solution, facts);
    filled.reset();  // of a large plan the document is enough
    pinned = {};
    say_again(midday, room->problem, document);
    if (args.what_if) {
        const search::WhatIfOptions how{.total = rest,
                                        .seed = args.search.seed,
                                        .threads = options->threads,
                                        .stop = options->stop};
        const auto ways = other_ways(*scenario, how_compiled, *room, *solution.schedule);
        const auto changes = search::what_ifs(room->problem, solution, how, ways.problems);
        report::add_what_ifs(*room, changes, document, ways.words);
        report::add_limit(*room, changes, document);
    } else {
        search::WhatIfOptions how = search::quick_look(solution.evaluations);
        how.seed = args.search.seed;
        how.threads = options->threads;
        how.stop = options->stop;
        report::add_limit(*room, search::what_ifs(room->problem, solution, how), document);
    }
    if (days_simulated) add_chances(disturbances, solution, document);
    if (!args.out.empty()) {
        const auto written = report::write_outputs(document, args.out);
        for (const auto& error : written.errors) {
            std::fprintf(stderr, "coatroom plan: %s\n", error.c_str());
        }
        if (!written.errors.empty()) return BadInput;
    }
    const std::string text = args.json ? report::plan_to_json(document) : report::to_text(document);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return Done;
}

}  // namespace sched::app
