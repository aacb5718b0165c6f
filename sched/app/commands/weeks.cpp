// coatroom weeks: the room in the long run, orders coming in day after day.

#include <cstdio>
#include <filesystem>
#include <fstream>

#include "model/base/files.hpp"
#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/report/weeks/weeks_page.hpp"
#include "sched/report/weeks/weeks_report.hpp"
#include "sched/report/words/navigation.hpp"
#include "sched/simulate/long_run.hpp"

namespace sched::app {

int run_weeks(const WeeksArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics, run_day({}));
    const auto files = scenario ? model::read_chance(*scenario, diagnostics) : std::nullopt;
    print_diagnostics(diagnostics, args.json);
    if (!scenario || !files) return BadInput;

    study::LongRunOptions options;
    options.days = args.days;
    options.longer = args.trace.empty() && args.precision <= 0.0 ? 32 : 1;
    options.seed = args.seed;
    options.chance = study::Chance::of(files->chance, *scenario);
    options.allowed = files->chance.promised;
    options.arrivals = study::arrivals_of(files->chance, files->past, *scenario);
    if (args.orders_a_day > 0.0) {
        const auto open = study::open_week(scenario->room);
        options.arrivals =
            study::even_arrivals(args.orders_a_day, open.weekdays, open.from_hour, open.to_hour,
                                 std::move(options.arrivals.kind_weight));
    }
    for (const auto& rule : study::long_run_rules()) {
        if (rule.name == args.rule) options.rule = rule.rule;
    }
    if (args.precision > 0.0)
        options.precision = study::Precision{.relative = args.precision / 100.0};
    options.stop = [] { return interrupted(); };
    ProgressLine line;
    options.progress = [&](int day, int of) {
        known_so_far("Only " + std::to_string(day) + " of " + std::to_string(of) +
                     " days had been simulated: too few to say anything.");
        if (day % 10 == 0)
            line.show("simulating day " + std::to_string(day) + " of " + std::to_string(of));
    };
    compile::CompileOptions compile_options;
    compile_options.start = day_of_plan({.command = "weeks", .typical_day = true}, *scenario)
                                .value_or(model::SimTime{});
    std::ofstream trace;
    std::optional<compile::RoomProblem> names;
    if (!args.trace.empty()) {
        trace.open(args.trace);
        compile::CompileOptions longer = compile_options;
        longer.spare_ways = true;
        model::Diagnostics said_before;
        names = compile::compile_room(*scenario, longer, said_before);
        if (!trace || !names) {
            std::fprintf(stderr, "coatroom weeks: cannot write %s\n", args.trace.c_str());
            return BadInput;
        }
        options.trace = [&](const study::TraceEvent& e) {
            trace << report::trace_line(e, *scenario, *names);
        };
    }
    const auto run = study::run_long(*scenario, compile_options, options);
    const Undivided printing;
    if (interrupted() && (!run || (run->interrupted && run->resources.empty())))
        return say_interrupted("No figures: too few days had been simulated.");
    if (!run) {
        std::fprintf(stderr,
                     "coatroom weeks: this room cannot be run for weeks. Does coatroom plan find a "
                     "plan for it?\n");
        return BadInput;
    }
    const bool hopeless = run->days == 0 && run->offered.share > 1.0;
    if (!run->stuck.empty()) {
        std::fprintf(stderr, "coatroom weeks: the run could not go on, %s\n", run->stuck.c_str());
    }
    if (run->interrupted) {
        say_interrupted("The figures rest on " + std::to_string(run->days) +
                        " days, too few to be sure.");
    }
    if (trace.is_open() && !trace.flush())
        return not_written("weeks", args.trace + ": the disk is full, or it cannot be written");
    const std::string text =
        args.json ? report::weeks_json(*run) : report::weeks_text(*run, args.scenario);
    std::fwrite(text.data(), 1, text.size(), stdout);
    if (!args.out.empty()) {
        const auto failed = model::write_file_atomically(
            args.out, report::weeks_page(*run, scenario->room.name, scenario->room.invented));
        if (failed) return not_written("weeks", *failed);
        report::join_pages(std::filesystem::path(args.out));
        std::fprintf(args.json ? stderr : stdout, "page in %s\n", args.out.c_str());
    }
    if (run->interrupted) return Interrupted;
    return run->stuck.empty() && !hopeless ? Done : No;
}

}  // namespace sched::app
