// coatroom promise --table, and the files of promises.

#include <fmt/format.h>

#include <algorithm>
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
#include "sched/app/parts/weeks_question.hpp"
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
    auto question = scenario ? weeks_question(*scenario, args.seed, "urgency", diagnostics,
                                              args.load != 100.0, args.quiet)
                             : std::nullopt;
    print_diagnostics(diagnostics, args.json);
    if (!question) return BadInput;
    if (args.weeks > 0) {
        const auto weekdays = study::open_week(scenario->room).weekdays;
        question->options.days = std::max(
            1, args.weeks * static_cast<int>(std::count(weekdays.begin(), weekdays.end(), true)));
        question->options.longer = 1;
    }
    if (!args.day.empty()) {
        const auto& climate = scenario->room.climate;
        if (!climate || !climate->named_days.contains(args.day)) {
            std::fprintf(stderr, "coatroom promise: the climate has no day called \"%s\".\n",
                         args.day.c_str());
            return BadInput;
        }
        question->options.chance.days = {{args.day, 1.0}};
    }
    if (const auto never = never_done(*scenario, question->compile)) {
        std::fprintf(stderr, "coatroom promise: no lead time can be stated. %s\n", never->c_str());
        return No;
    }
    std::string problem;
    const auto table = study::lead_table(*scenario, question->compile, question->options,
                                         args.load / 100.0, problem);
    question->options.progress = nullptr;  // its line goes
    const Undivided writing;
    constexpr int least_days = 20;
    const bool cut = interrupted();
    if (cut && (!table || table->days < least_days)) {
        return say_interrupted(fmt::format("No table: {} of its {} days had been simulated.",
                                           table ? table->days : 0, question->options.days));
    }
    if (!table) {
        std::fprintf(stderr, "coatroom promise: %s\n", problem.c_str());
        return No;
    }
    if (cut) {
        say_interrupted(fmt::format(
            "The table rests on {} days, too few to be sure. Nothing was written.", table->days));
    }
    std::optional<std::string> error;
    if (!args.out.empty() && !cut) {
        error = model::write_files_together(
            args.out, {{"lead-times.html", [&] { return report::lead_page(*table); }},
                       {"lead-times.csv", [&] { return report::lead_csv(*table); }},
                       {"price-list.csv", [&] { return report::price_csv(*table); }}});
        if (!error) report::join_pages(args.out);
    }
    const std::string text = args.json ? report::lead_json(*table) : report::lead_text(*table);
    const bool whole = print_answer(text);
    if (cut) return Interrupted;
    if (!whole && !error) return say_interrupted("The table was not printed whole.");
    return error ? not_written("promise", *error) : int{Done};
}

}  // namespace sched::app
