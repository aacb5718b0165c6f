// coatroom promise --table, and the files of promises.

#include <fmt/format.h>

#include <cstdio>
#include <optional>

#include "model/base/files.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/promise_parts.hpp"
#include "sched/promise/lead_table.hpp"
#include "sched/report/promise/lead_page.hpp"
#include "sched/report/promise/promise_json.hpp"
#include "sched/report/promise/promise_page.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::app {

int run_promise_table(const PromiseArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario =
        model::read_scenario(args.scenario, diagnostics,
                             run_day({.from = args.from, .date = args.date, .now = args.now}));
    print_diagnostics(diagnostics, args.json);
    if (!scenario) return BadInput;
    const auto promise = promise_options(args, *scenario);
    if (!promise) return BadInput;
    study::LeadTableOptions options{.weeks = args.weeks,
                                    .load = args.load / 100.0,
                                    .day_kind = args.day,
                                    .chance = promise->chance,
                                    .seed = args.seed,
                                    .threads = promise->threads,
                                    .stop = promise->stop};
    // The weeks begin on a Monday.
    options.start = model::midnight(model::date_of(promise->compile.start));
    options.start -= std::chrono::days{model::weekday_index(model::date_of(options.start))};
    known_so_far("No table: its weeks were not all simulated.");
    std::string problem;
    const auto table = study::lead_table(*scenario, options, problem);
    const Undivided writing;
    if (interrupted()) {
        return say_interrupted(fmt::format("No table: {} of its {} weeks had been simulated.",
                                           table ? table->weeks : 0, args.weeks));
    }
    if (!table) {
        std::fprintf(stderr, "coatroom promise: %s\n", problem.c_str());
        return No;
    }
    std::optional<std::string> error;
    if (!args.out.empty()) {
        error = model::write_files_together(
            args.out, {{"lead-times.html", [&] { return report::lead_page(*table); }},
                       {"lead-times.csv", [&] { return report::lead_csv(*table); }}});
        if (!error) report::join_pages(args.out);
    }
    const std::string text = args.json ? report::lead_json(*table) : report::lead_text(*table);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return error ? not_written("promise", *error) : int{Done};
}

}  // namespace sched::app
