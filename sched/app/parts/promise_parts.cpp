// The question's time, the options and the files of promises, for the command, its table and the
// board.

#include "sched/app/parts/promise_parts.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>

#include "model/base/files.hpp"
#include "model/read/chance_file.hpp"
#include "model/read/loose_date.hpp"
#include "sched/app/parts/budget.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/kept_promises.hpp"
#include "sched/check/checker.hpp"
#include "sched/report/promise/promise_json.hpp"
#include "sched/report/promise/promise_page.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::app {

std::optional<model::SimTime> time_arg(const std::string& text, const char* option,
                                       const model::read::DatesFrom& dates, bool end) {
    const auto t = model::read::parse_loose_date_time(text, dates, end);
    if (!t.value) {
        std::fprintf(stderr,
                     "coatroom promise: %s %s %s. Write it as 2026-11-26T10:40, Fri 16:00 or 1 Dec "
                     "9:00.\n",
                     option, text.c_str(), t.problem.c_str());
    }
    return t.value;
}

std::optional<study::Correction> learnt_from(const std::string& folder, const model::Room& room,
                                             model::SimTime now, model::Diagnostics& diagnostics) {
    const auto kept = past_promises(folder, diagnostics);
    if (!kept) return std::nullopt;
    const int percent = static_cast<int>(std::lround(room.promise.level.value * 100.0));
    for (const int known : {50, 80, 90, 95}) {
        if (percent == known) return study::correction_at(*kept, now, {.percent = percent});
    }
    return std::nullopt;
}

std::optional<study::Chance> chance_of(const model::Scenario& scenario,
                                       model::Diagnostics& diagnostics) {
    const auto files = model::read_chance(scenario, diagnostics);
    if (!files) return std::nullopt;
    return study::Chance::of(files->chance, scenario);
}

std::optional<study::PromiseOptions> promise_options(const PromiseArgs& args,
                                                     const model::Scenario& scenario,
                                                     const char* command) {
    auto search = search_options({.seed = args.seed, .threads = args.threads});
    if (!search) return std::nullopt;
    study::PromiseOptions options;
    options.seed = args.seed;
    options.threads = search->threads;
    options.stop = search->stop;
    options.replications = static_cast<std::size_t>(args.replications);
    options.remedy_replications = std::min(options.remedy_replications, options.replications);
    options.base_evaluations = args.effort;
    options.remedies = !args.quick;
    options.right = [](const core::Problem& problem, const core::Schedule& schedule) {
        return check::check(problem, schedule).empty();
    };
    options.correction = model::Seconds{std::llround(args.correction * 60.0)};
    options.compile.day_kind = args.day;
    model::Diagnostics diagnostics;
    const auto chance = chance_of(scenario, diagnostics);
    if (!chance) {
        print_diagnostics(diagnostics, args.json);
        return std::nullopt;
    }
    options.chance = *chance;
    const auto start = day_of_plan(
        {.command = command, .from = args.from, .date = args.date, .now = args.now}, scenario);
    if (!start) return std::nullopt;
    options.compile.start = *start;
    return options;
}

model::SimTime question_of(const study::PromiseOptions& options) {
    return options.begun ? options.begun->now : options.now.value_or(options.compile.start);
}

std::string set_under_way(const UnderWay& words, bool from_plan, model::Scenario& scenario,
                          study::PromiseOptions& options, std::string& source,
                          model::Diagnostics& diagnostics) {
    std::string problem;
    auto day = read_under_way(words, from_plan, scenario, options.compile.start, source, problem,
                              diagnostics);
    const auto end = options.compile.start + std::chrono::days{study::most_days_ahead};
    if (day && day->now >= end) {
        return "--now " + words.now + " lies behind the days that are planned, which begin on " +
               model::format_date_time(options.compile.start) + ". Give the day with --date.";
    }
    if (day) options.begun = std::make_shared<const study::BegunDay>(*std::move(day));
    return problem;
}

std::string follow_posted(const UnderWay& words, study::PromiseOptions& options,
                          std::string& source, model::Diagnostics& diagnostics) {
    std::string problem;
    const auto posted_day = read_posted_day(words, problem, diagnostics);
    const report::PlanDocument* posted = posted_day ? posted_day->plan() : nullptr;
    // One that was made in the middle of the day does not say how the day would begin.
    if (posted == nullptr || posted->problem.now ||
        posted->problem.horizon_start != options.compile.start)
        return problem;
    options.begun = std::make_shared<const study::BegunDay>(
        study::BegunDay{.now = options.compile.start, .posted = posted_plan(*posted)});
    source = posted_day->earlier
                 ? "what is promised is worked off by the plan that is posted."
                 : "what is promised is worked off by the posted plan, entry " +
                       std::to_string(posted_day->journal->plan.entry) + " of the journal.";
    return problem;
}

bool write_promises(const std::vector<study::Promise>& promises, const std::string& folder) {
    std::vector<model::NamedFile> files{{"promise.json", [&] {
                                             return promises.size() == 1
                                                        ? report::promise_to_json(promises.front())
                                                        : report::promises_to_json(promises);
                                         }}};
    for (std::size_t i = 0; i < promises.size(); ++i) {
        // Names of orders are the user's: they do not become names of files.
        files.emplace_back(
            promises.size() == 1 ? "promise.html" : "promise-" + std::to_string(i + 1) + ".html",
            [&, i] { return report::promise_page(promises[i]); });
    }
    const auto error = model::write_files_together(folder, files);
    if (error) not_written("promise", *error);
    if (!error) {
        // Pages of several answers have no fixed name; each gets its links.
        for (const auto& file : files)
            report::join_pages(std::filesystem::path(folder) / file.first);
    }
    return !error;
}

}  // namespace sched::app
