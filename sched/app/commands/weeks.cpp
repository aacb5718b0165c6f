// coatroom weeks: the room in the long run, orders coming in day after day.

#include <cstdio>
#include <filesystem>
#include <fstream>

#include "model/base/files.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/weeks_question.hpp"
#include "sched/report/weeks/weeks_page.hpp"
#include "sched/report/weeks/weeks_report.hpp"
#include "sched/report/words/navigation.hpp"
#include "sched/simulate/long_run.hpp"

namespace sched::app {

int run_weeks(const WeeksArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics, run_day({}));
    auto question = scenario ? weeks_question(*scenario, args.seed, args.rule, diagnostics,
                                              args.orders_a_day > 0.0, args.quiet)
                             : std::nullopt;
    print_diagnostics(diagnostics, args.json);
    if (!question) return BadInput;

    study::LongRunOptions& options = question->options;
    const compile::CompileOptions& compile_options = question->compile;
    options.days = args.days;
    if (!args.trace.empty() || args.precision > 0.0) options.longer = 1;
    if (args.orders_a_day > 0.0) {
        const auto open = study::open_week(scenario->room);
        options.arrivals =
            study::even_arrivals(args.orders_a_day, open.weekdays, open.from_hour, open.to_hour,
                                 std::move(options.arrivals.kind_weight));
    }
    if (args.precision > 0.0)
        options.precision = study::Precision{.relative = args.precision / 100.0};
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
        const std::string cut = "No figures yet; " + args.trace + " is cut off where it ends.";
        known_so_far(cut);
        options.progress = [show = std::move(options.progress), cut](int day, int of) {
            show(day, of);
            known_so_far(cut);
        };
        options.trace = [&](const study::TraceEvent& e) {
            trace << report::trace_line(e, *scenario, *names);
        };
    }
    if (const auto never = never_done(*scenario, compile_options)) {
        std::fprintf(stderr, "coatroom weeks: this room cannot be run for weeks. %s\n",
                     never->c_str());
        return No;
    }
    const auto run = study::run_long(*scenario, compile_options, options);
    options.progress = nullptr;  // its line goes
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
    const std::string text =
        args.json ? report::weeks_json(*run) : report::weeks_text(*run, args.scenario);
    const bool whole = print_answer(text);
    // The run took long: its figures come first.
    if (trace.is_open() && !trace.flush())
        return not_written("weeks", args.trace +
                                        ": the disk is full, or it cannot be written; what stands "
                                        "there is cut off");
    if (!args.out.empty()) {
        const std::string out = page_file(args.out, "weeks.html");
        const auto failed = model::write_file_atomically(
            out, report::weeks_page(*run, scenario->room.name, scenario->room.invented));
        if (failed) return not_written("weeks", *failed);
        report::join_pages(std::filesystem::path(out));
        std::fprintf(args.json ? stderr : stdout, "page in %s\n", out.c_str());
    }
    if (!whole) return say_interrupted("The figures were not printed whole.");
    if (run->interrupted) return Interrupted;
    return run->stuck.empty() && !hopeless ? Done : No;
}

}  // namespace sched::app
