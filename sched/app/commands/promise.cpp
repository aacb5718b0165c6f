// coatroom promise: read -> open the desk -> ask -> (accept) -> text, JSON, page.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <optional>

#include "model/base/files.hpp"
#include "model/base/name.hpp"
#include "model/read/enquiry_file.hpp"
#include "model/read/loose_date.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/commands/backtest.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/budget.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/kept_promises.hpp"
#include "sched/app/parts/promise_parts.hpp"
#include "sched/app/parts/verdict.hpp"
#include "sched/check/checker.hpp"
#include "sched/promise/enquiry.hpp"
#include "sched/report/promise/promise_explain.hpp"
#include "sched/report/promise/promise_json.hpp"
#include "sched/report/promise/promise_text.hpp"

namespace sched::app {

namespace {

// What cannot stand in a cell of orders.csv, in words; empty: it can.
std::string wrong_name(const std::string& option, const std::string& name) {
    if (name.empty()) return {};
    if (const std::string problem = model::name_problem(name); !problem.empty())
        return option + " " + problem + ".";
    if (std::string("=+-@").find(name.front()) != std::string::npos) {
        return option + " begins with " + name.front() +
               ", which a spreadsheet takes for a formula. Begin with a letter or a digit.";
    }
    return {};
}

/// The enquiry of the command line as a row of the CSV, so that both go one way.
std::optional<model::read::EnquiryRow> row_of(const PromiseArgs& args,
                                              const model::read::DatesFrom& dates) {
    model::read::EnquiryRow row{.order = args.order,
                                .customer = args.customer,
                                .priority = args.priority,
                                .count = args.screens,
                                .mesh = args.mesh,
                                .frame = args.frame,
                                .emulsion = args.emulsion,
                                .coat_plan = args.coats,
                                .finest_line = args.finest_line,
                                .ruling = args.ruling,
                                .image = args.image,
                                .kept_stencil = args.kept_stencil};
    for (const auto& [option, name] :
         {std::pair{"--order", &args.order}, std::pair{"--job", &args.customer}}) {
        const std::string wrong = wrong_name(option, *name);
        if (wrong.empty()) continue;
        std::fprintf(stderr, "coatroom promise: %s\n", wrong.c_str());
        return std::nullopt;
    }
    if (!args.wanted.empty()) {
        row.wanted = time_arg(args.wanted, "--wanted", dates, true);
        if (!row.wanted) return std::nullopt;
    }
    if (!args.film.empty()) {
        row.film_ready = time_arg(args.film, "--film", dates, false);
        if (!row.film_ready) return std::nullopt;
    }
    return row;
}

/// Rows with the same name belong together.
std::optional<std::vector<study::Enquiry>> enquiries_of(
    const model::Scenario& scenario, const std::vector<model::read::EnquiryRow>& rows) {
    std::vector<study::Enquiry> out;
    bool sound = true;
    for (const auto& row : rows) {
        const study::EnquiryWords words{
            .count = row.count,
            .mesh = row.mesh,
            .frame = row.frame,
            .emulsion = row.emulsion,
            .coats = row.coat_plan,
            .film = row.film_ready ? model::format_date_time(*row.film_ready) : "",
            .image = row.image,
            .finest_line = row.finest_line,
            .ruling = row.ruling,
            .kept_stencil = row.kept_stencil};
        std::string problem;
        auto line = study::line_of(scenario, words, problem);
        if (!line) {
            sound = false;
            if (row.place.file.empty()) {
                std::fprintf(stderr, "coatroom promise: %s\n", problem.c_str());
            } else {
                std::fprintf(stderr, "%s:%d:1: error: %s (enquiry)\n", row.place.file.c_str(),
                             row.place.line, problem.c_str());
            }
            continue;
        }
        const bool more = !row.order.empty() && !out.empty() && out.back().name == row.order;
        if (!more) {
            out.push_back({.name = row.order,
                           .customer = row.customer,
                           .priority = row.priority,
                           .wanted = row.wanted});
        }
        out.back().lines.push_back(*std::move(line));
    }
    if (!sound) return std::nullopt;
    return out;
}

std::optional<std::vector<model::read::EnquiryRow>> rows_of(const PromiseArgs& args,
                                                            const model::read::DatesFrom& dates) {
    if (!args.enquiries.empty()) {
        model::Diagnostics diagnostics;
        auto rows = model::read::read_enquiries(args.enquiries, diagnostics, &dates);
        if (rows && args.accept) {
            for (const auto& row : *rows) {
                for (const auto& [column, name] :
                     {std::pair{"order", &row.order}, std::pair{"job", &row.customer}}) {
                    const std::string wrong = wrong_name(column, *name);
                    if (!wrong.empty()) diagnostics.error(row.place, "bad-name", wrong);
                }
            }
        }
        print_diagnostics(diagnostics, false);
        if (diagnostics.has_errors()) return std::nullopt;
        return rows;
    }
    if (args.screens == 0) {
        std::fprintf(stderr,
                     "coatroom promise: say what is asked for (--screens, --mesh, --frame, "
                     "--coats), or name a file (--enquiries).\n");
        return std::nullopt;
    }
    auto row = row_of(args, dates);
    if (!row) return std::nullopt;
    return std::vector{*std::move(row)};
}

}  // namespace

namespace {

// Of what the compiled room has to say: that clocks change in a night in which there is work. Then
// the date itself is an hour off; the rest `check` and `plan` say.
model::Diagnostics of_the_date(const model::Diagnostics& found) {
    model::Diagnostics out;
    for (const model::Diagnostic& x : found.all())
        if (x.code == "clock-change") out.warning(x.place, x.code, x.message, x.hint);
    return out;
}

// What makes no sense together, in words; empty: nothing.
std::string contradiction(const PromiseArgs& args) {
    if ((!args.import.empty() || !args.export_to.empty()) &&
        (args.accept || args.backtest || args.table || args.screens > 0 || !args.enquiries.empty()))
        return "--import and --export go alone: they take past promises in and write them out.";
    if (args.now.empty()) {
        if (!args.earlier.empty()) return "--earlier needs the present time. Add --now 10:40.";
        if (!args.state.empty()) return "--state needs the present time. Add --now 10:40.";
        return {};
    }
    if (!args.from.empty())
        return "--now and --from both say when it is asked. Leave --from out; --date names the "
               "day.";
    if (args.table) return "--table looks at weeks, not at the rest of a day. Leave --now out.";
    if (args.backtest) return "--backtest looks at past promises. Leave --now out.";
    return {};
}

}  // namespace

namespace {

// At an interruption.
std::string answered_words(std::size_t done, std::size_t of, bool accepted) {
    if (done == 0) return "Nothing is promised.";
    return fmt::format("{} of {} questions had been answered{}.", done, of,
                       accepted ? "; what was accepted is said above" : "; nothing is promised");
}

}  // namespace

bool sound_question(const PromiseArgs& args) {
    const std::string problem = contradiction(args);
    if (!problem.empty()) std::fprintf(stderr, "coatroom promise: %s\n", problem.c_str());
    return problem.empty();
}

int run_promise_backtest(const PromiseArgs& args) {
    return run_backtest(args.scenario, args.journal, args.json);
}

int run_promise_files(const PromiseArgs& args) {
    complete_acceptances(args.scenario);
    model::Diagnostics diagnostics;
    if (!args.import.empty()) {
        std::string problem;
        const Undivided entering;
        const auto news = take_in_promises(args.scenario, args.import, problem, diagnostics);
        print_diagnostics(diagnostics, args.json);
        if (!news) {
            if (!problem.empty())
                std::fprintf(stderr, "coatroom promise: not entered: %s\n", problem.c_str());
            return diagnostics.has_errors() ? BadInput : NotPrinted;
        }
        std::fprintf(stderr, "coatroom promise: %zu promise%s and %zu ready time%s from %s.\n",
                     news->fresh.size(), news->fresh.size() == 1 ? "" : "s", news->ready.size(),
                     news->ready.size() == 1 ? "" : "s", args.import.c_str());
        if (args.export_to.empty()) return Done;
    }
    const auto kept = past_promises(args.scenario, diagnostics);
    print_diagnostics(diagnostics, args.json);
    if (!kept) return BadInput;
    const std::string text = promises_to_csv(*kept);
    if (args.export_to == "-") {
        return print_answer(text) ? Done : say_interrupted("They were not printed whole.");
    }
    const auto failed = model::write_file_atomically(args.export_to, text);
    if (failed) return not_written("promise", *failed);
    std::fprintf(stderr, "coatroom promise: %zu promise%s in %s.\n", kept->size(),
                 kept->size() == 1 ? "" : "s", args.export_to.c_str());
    return Done;
}

int run_promise(const PromiseArgs& args) {
    std::optional<std::vector<model::read::EnquiryRow>> rows;
    std::vector<study::Promise> promises;
    bool all = true, unknown = false;
    std::size_t next = 0;
    std::size_t of = 1;
    known_so_far(answered_words(next, of, args.accept));
    complete_acceptances(args.scenario);
    // Without --accept one desk answers all; with it every answer changes what is promised.
    while (next < of) {
        std::optional<ScenarioLock> lock;
        if (args.accept) {
            lock.emplace(args.scenario);
            if (!lock->held()) {
                if (interrupted()) return say_interrupted(answered_words(next, of, args.accept));
                std::fprintf(stderr, "coatroom promise: not accepted: %s\n",
                             lock->problem().c_str());
                std::error_code error;
                return std::filesystem::is_directory(args.scenario, error) ? NotPrinted : BadInput;
            }
        }
        model::Diagnostics diagnostics;
        auto scenario =
            model::read_scenario(args.scenario, diagnostics,
                                 run_day({.from = args.from, .date = args.date, .now = args.now}));
        if (next == 0 || diagnostics.has_errors()) print_diagnostics(diagnostics, args.json);
        if (!scenario) return BadInput;
        auto options = promise_options(args, *scenario);
        if (!options) return BadInput;
        if (args.from.empty()) {
            model::Diagnostics present;
            std::string source;
            const UnderWay words{args.scenario, args.now, args.earlier, args.state};
            const std::string wrong =
                args.now.empty()
                    ? follow_posted(words, *options, source, present)
                    : set_under_way(words, args.date.empty(), *scenario, *options, source, present);
            if (next == 0 && !source.empty())
                std::fprintf(stderr, "coatroom promise: %s\n", source.c_str());
            print_diagnostics(present, args.json);
            if (!wrong.empty()) std::fprintf(stderr, "coatroom promise: %s\n", wrong.c_str());
            const bool asked_within = !args.now.empty() && !options->begun;
            if (!wrong.empty() || present.has_errors() || asked_within) return BadInput;
        }
        model::Diagnostics journal;
        options->past = learnt_from(args.scenario, scenario->room, question_of(*options), journal);
        if (next == 0) print_diagnostics(journal, args.json);
        if (journal.has_errors()) return BadInput;
        if (!rows) rows = rows_of(args, model::read::dates_of(*scenario, options->compile.start));
        if (!rows) return BadInput;
        const auto enquiries = enquiries_of(*scenario, *rows);
        if (!enquiries) return BadInput;
        of = enquiries->size();
        std::string problem;
        model::Diagnostics compiling;
        std::optional<ProgressLine> line;  // gone before anything else is said
        if (!args.quiet) {
            options->progress = [&](const std::string& words) {
                if (!line) line.emplace();
                line->show(of > 1 ? fmt::format("enquiry {} of {}: {}", next + 1, of, words)
                                  : words);
            };
        }
        const auto desk = study::PromiseDesk::open(*scenario, *options, compiling, problem);
        line.reset();
        if (compiling.has_errors())
            print_diagnostics(compiling, args.json);
        else if (next == 0)
            print_diagnostics(of_the_date(compiling), args.json);
        if (!desk) {
            if (interrupted()) return say_interrupted(answered_words(next, of, args.accept));
            if (!problem.empty()) std::fprintf(stderr, "coatroom promise: %s\n", problem.c_str());
            return compiling.has_errors() ? BadInput : No;
        }
        const std::size_t until = args.accept ? next + 1 : of;
        for (; next < until; ++next) {
            study::PromiseDesk::Planned plan;
            study::Promise promise = desk->ask((*enquiries)[next], &plan);
            line.reset();
            // From here on it is accepted or not, and said.
            const Undivided accepting;
            if (interrupted()) return say_interrupted(answered_words(next, of, args.accept));
            if (plan.solution.schedule && !passes(plan.room.problem, *plan.solution.schedule))
                return No;
            if (args.explain) report::explain_promise(plan, promise);
            const auto accepted =
                args.accept ? accept_order(args.scenario, promise, problem) : Accepted::No;
            if (accepted == Accepted::Unknown) {
                std::fprintf(stderr,
                             "coatroom promise: whether order %s is accepted is not known: %s If "
                             "it is, the next command that reads the folder writes it into "
                             "orders.csv.\n",
                             promise.enquiry.name.c_str(), problem.c_str());
                unknown = true;
            } else if (args.accept && accepted == Accepted::No) {
                std::fprintf(stderr, "coatroom promise: not accepted: %s\n", problem.c_str());
                all = false;
            } else if (args.accept && !args.json) {
                std::fprintf(stderr, "accepted: order %s, due %s\n", promise.enquiry.name.c_str(),
                             report::weekday_time(*promise.recommended).c_str());
            }
            known_so_far(answered_words(next + 1, of, args.accept));
            all = all && promise.recommended.has_value();
            promises.push_back(std::move(promise));
        }
    }
    const Undivided writing;
    std::string text;
    if (args.json) {
        text = promises.size() == 1 ? report::promise_to_json(promises.front())
                                    : report::promises_to_json(promises);
    } else {
        for (const auto& p : promises)
            text += (text.empty() ? "" : "\n") + report::promise_to_text(p, args.explain);
    }
    const bool written = args.out.empty() || write_promises(promises, args.out);
    const bool whole = print_answer(text);
    if (!written || unknown) return NotPrinted;
    if (!whole) return say_interrupted(answered_words(next, of, args.accept));
    return all ? Done : No;
}

}  // namespace sched::app
