// coatroom plan: question -> room -> pinned -> plan -> filled -> document, each a value.

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <functional>

#include "sched/advise/what_if.hpp"
#include "sched/app/commands/plan_question.hpp"
#include "sched/app/parts/chances.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/given_too_late.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/journal_day.hpp"
#include "sched/app/parts/late_mixes.hpp"
#include "sched/app/parts/other_ways.hpp"
#include "sched/app/parts/pinned.hpp"
#include "sched/app/parts/returned.hpp"
#include "sched/app/parts/room_of_plan.hpp"
#include "sched/app/parts/unused_mixes.hpp"
#include "sched/app/parts/verdict.hpp"
#include "sched/app/parts/version.hpp"
#include "sched/core/objective.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/chance_lines.hpp"
#include "sched/report/plan/outputs.hpp"
#include "sched/report/plan/text.hpp"
#include "sched/report/plan/what_if_lines.hpp"
#include "sched/report/words/wording.hpp"
#include "sched/simulate/what_if_days.hpp"

namespace sched::app {

namespace {

std::string progress_text(const core::Problem& problem, const search::Progress& p) {
    std::string text = "searching: " + std::to_string(p.evaluations) + " schedules";
    if (p.value && !p.value->parts.empty()) {
        const auto best = p.value->parts.front();
        text += ", best " + core::words(problem.objective.front()) + " ";
        text += core::row_of(problem.objective.front()).in_orders
                    ? std::to_string(best)
                    : model::format_duration(core::Seconds{best});
    }
    return text + " (Ctrl-C keeps the best so far)";
}

/// What would help costs a part of the budget, not more on top of it: a third of that on paper, the
/// rest on simulated days.
struct Budgets {
    search::Budget plan, what_if;
};

constexpr double what_if_share = 0.1, judged_share = 0.2;  // of the budget
// Of seconds: the plan's chances and when its pots are mixed are within the budget, too.
constexpr double plan_seconds = 0.85;  // its chances in them
constexpr double plan_seconds_of_what_if = 0.4;
constexpr double mixing_seconds = 0.05;
constexpr double quick_share = 0.1;  // of what the plan cost: what limits the day

Budgets budgets_of(const Question& question) {
    Budgets budgets{.plan = question.how.budget, .what_if = {}};
    const search::Budget& whole = question.how.budget;
    if (!question.what_if) {
        if (whole.seconds && !question.on_paper)
            budgets.plan.seconds = plan_seconds * *whole.seconds;
        return budgets;
    }
    if (whole.seconds) {
        budgets.plan.seconds = plan_seconds_of_what_if * *whole.seconds;
        budgets.what_if.seconds = what_if_share * *whole.seconds;
    }
    if (whole.evaluations) {
        budgets.what_if.evaluations = *whole.evaluations / 10;
        budgets.plan.evaluations = std::max<std::int64_t>(1, *whole.evaluations * 7 / 10);
    }
    return budgets;
}

// After that part of a budget in seconds, or at an interruption.
std::function<bool()> over_after(double share, const Question& question) {
    const auto& seconds = question.how.budget.seconds;
    if (!seconds) return question.how.stop;
    const auto until =
        std::chrono::steady_clock::now() + std::chrono::duration<double>(share * *seconds);
    return [until, stop = question.how.stop] {
        return (stop && stop()) || std::chrono::steady_clock::now() > until;
    };
}

FoundPlan searched(const Question& question, const RoomOfPlan& room, const core::Problem& pinned) {
    ProgressLine line;
    search::SearchOptions options = question.how;
    options.budget = budgets_of(question).plan;
    if (!question.quiet) {
        options.progress = [&](const search::Progress& p) {
            line.show(progress_text(room.room.problem, p));
        };
    }
    std::function<void(const std::string&)> tell;
    if (!question.quiet) {
        tell = [&](const std::string& words) {
            line.show("searching: " + words + " (Ctrl-C keeps the best so far)");
        };
    }
    return find_plan(question, room, pinned, options, tell);
}

// The changes on the days of the plan's chances, as many as the budget allows. What nobody asked
// for takes a tenth of what the plan did, in days and in time, and says nothing where that is too
// little. @returns false: they were asked for, and none was judged.
bool judge(const Question& question, const FoundPlan& plan,
           const std::vector<study::OtherRoom>& others, std::vector<search::WhatIf>& changes) {
    constexpr std::size_t most_days = 200;
    const bool paper = question.on_paper && question.robust == 0;
    if (paper || study::nothing_by_chance(question.days.chance)) return true;
    study::WhatIfDayOptions how{.seed = question.how.seed,
                                .threads = question.how.threads,
                                .policy = question.days.policy,
                                .chance = question.days.chance};
    const search::Budget& whole = question.how.budget;
    const std::size_t rooms = changes.size() + 1;
    const auto days_for = [&](double cost) {
        return static_cast<std::size_t>(std::max(0.0, cost) / static_cast<double>(2 * rooms));
    };
    if (!question.what_if)
        how.most = std::min(most_days,
                            days_for(quick_share * static_cast<double>(plan.solution.evaluations)));
    else if (whole.evaluations)
        how.most =
            std::min(most_days, days_for(judged_share * static_cast<double>(*whole.evaluations)));
    else
        how.most = most_days;
    how.stop = question.how.stop;
    if (whole.seconds)
        how.seconds = (question.what_if ? judged_share : quick_share) * *whole.seconds;
    study::judge_on_days({question.scenario, plan.how, plan.room, *plan.solution.schedule,
                          plan.turns, plan.compared},
                         others, how, changes);
    return !question.what_if || changes.empty() ||
           std::any_of(changes.begin(), changes.end(),
                       [](const search::WhatIf& w) { return w.on_days.has_value(); });
}

// Stations that fail on simulated days by chance.yaml, each once.
std::vector<std::string> failing_stations(const Question& question) {
    std::vector<std::string> names;
    if (question.on_paper && question.robust == 0) return names;
    for (const study::FailureRule& rule : question.days.chance.failures) {
        if (std::find(names.begin(), names.end(), rule.station) == names.end())
            names.push_back(rule.station);
    }
    return names;
}

// What limits the day, and with --what-if all that would help.
void add_what_would_help(const Question& question, const FoundPlan& plan,
                         report::PlanDocument& document) {
    search::WhatIfOptions how = search::quick_look(plan.solution.evaluations);
    if (question.what_if)
        how = {.total = budgets_of(question).what_if};
    else if (question.how.budget.seconds)
        how.most_seconds = std::max(0.5, quick_share * *question.how.budget.seconds);
    how.seed = question.how.seed;
    how.threads = question.how.threads;
    how.stop = question.how.stop;
    OtherWays ways;
    if (question.what_if)
        ways = other_ways(question.scenario, plan.how, plan.room, *plan.solution.schedule);
    auto [changes, left_out] =
        search::what_ifs(plan.room.problem, plan.solution, how, ways.problems);
    // What the room can do as it is on paper, no change has saved.
    if (plan.on_paper) search::measure_against(plan.problem, plan.on_paper->value, changes);
    const bool judged = judge(question, plan, ways.rooms, changes);
    if (question.what_if && left_out > 0) {
        document.bottleneck.sentences.push_back(
            fmt::format("There was no time to try {} more change{}; a longer --budget tries {}.",
                        left_out, left_out == 1 ? "" : "s", left_out == 1 ? "it" : "them"));
    }
    if (const auto failing = failing_stations(question); judged && !failing.empty()) {
        document.bottleneck.sentences.push_back(
            fmt::format("{} can fail on simulated days, all {} places at once; coatroom size says "
                        "what a second one is worth.",
                        report::joined(failing), failing.size() == 1 ? "its" : "their"));
    }
    if (question.what_if) report::add_what_ifs(plan.room, changes, document, ways.words);
    if (!judged) {
        document.bottleneck.sentences.emplace_back(
            "What would help is said of plans in which nothing takes longer: there was no time to "
            "simulate it.");
    }
    report::add_limit(plan.room, changes, document);
    if (plan.on_paper) report::add_in_time_on_paper(plan.on_paper->ready, document);
    add_given_too_late(question.scenario, plan.room, document);
}

report::PlanDocument document_of(const Question& question, const RoomOfPlan& room,
                                 const FoundPlan& plan, const FilledPlan& filled,
                                 const model::Diagnostics& diagnostics) {
    const report::PlanFacts facts{.version = version,
                                  .inputs = question.inputs,
                                  .seed = question.how.seed,
                                  .budget_seconds = question.how.budget.seconds,
                                  .budget_evaluations = question.how.budget.evaluations,
                                  .day = question.day_kind,
                                  .diagnostics = diagnostics.all(),
                                  .pins = pins_in_words(question.pins, plan.room)};
    auto document =
        report::make_plan_document(question.scenario, filled.room, filled.solution, facts);
    say_changes(question, room, plan, document);
    add_what_would_help(question, plan, document);
    report::add_turns(plan.turns, document);
    document.run.interrupted |= interrupted();
    if (question.days.asked() && !interrupted()) {  // chances of no day would say nothing
        add_chances({question, plan.how, plan.room}, *plan.solution.schedule, plan.turns, document);
        report::add_first_words(document);
    }
    return document;
}

/// @param cut whether the reader did not read, and Ctrl-C was pressed.
int write(const Question& question, const report::PlanDocument& document, bool& cut) {
    int status = Done;
    if (!question.out.empty()) {
        const auto written = report::write_outputs(document, question.out, question.station_sheets);
        for (const auto& error : written.errors)
            status = not_written("plan", error);
    }
    // A wide terminal is used up to what the eye follows; what is no terminal gets 80 columns.
    const Terminal terminal = terminal_of(1);
    const int width = terminal.columns > 0 ? std::clamp(terminal.columns, 50, 110) : 80;
    // What took long is printed all the same.
    const std::string text =
        question.json ? report::plan_to_json(document)
                      : report::to_text(document, {.colour = terminal.colour, .width = width});
    cut = !print_answer(text);
    return status;
}

int post(const Question& question, const report::PlanDocument& document) {
    std::string problem;
    const auto entry =
        post_plan(question.folder, document, question.seen, question.scenario.room.day, problem);
    if (!entry) {
        std::fprintf(stderr, "coatroom plan: not posted: %s\n", problem.c_str());
        return NotPrinted;
    }
    std::fprintf(stderr, "coatroom plan: posted: entry %lld of the journal.\n",
                 static_cast<long long>(*entry));
    return Done;
}

int no_plan(const RoomOfPlan& room, const search::FirstAnswer& first) {
    std::fprintf(stderr, "coatroom plan: %s\n", no_plan_words(room, first).c_str());
    return No;
}

}  // namespace

int run_plan(const PlanArgs& args) {
    model::Diagnostics diagnostics;
    const auto question = question_of(args, diagnostics);
    auto room = question ? room_of(*question, diagnostics) : std::nullopt;
    print_diagnostics(diagnostics, args.json);
    if (!room) return BadInput;
    if (interrupted()) return say_interrupted("No plan had been found.");
    const bool exists = room->first.kind == search::FirstAnswer::Kind::Plan;
    if (!exists && !question->midday) return no_plan(*room, room->first);
    const Pinned pinned =
        hold_pins(question->pins, room->room, {question->pin_file, question->pins_of_options});
    if (pinned.status) return *pinned.status;
    if (exists) keeps_a_result("The best plan so far is made ready; Ctrl-C again ends without it.");
    FoundPlan plan = searched(*question, *room, pinned.problem);
    if (interrupted() && !plan.solution.schedule) return say_interrupted("No plan had been found.");
    if (!plan.chosen.empty()) {
        std::fprintf(stderr, "%s: %s\n", question->robust > 0 ? "robust" : "coatroom plan",
                     plan.chosen.c_str());
    }
    if (!plan.solution.schedule) return no_plan(*room, plan.in_the_way.value_or(room->first));
    if (!passes(plan.problem, *plan.solution.schedule) ||
        !passes(plan.room.problem, *plan.solution.schedule))
        return No;
    leave_out_unused_mixes(*question, *room, plan);
    mix_when_wanted(plan, room->earlier, over_after(mixing_seconds, *question));
    const FilledPlan filled = fill_returns(question->pins, question->scenario, plan.how, plan.room,
                                           plan.solution, begun_returns(*question));
    if (!passes(filled.pinned, *filled.solution.schedule)) return No;
    const auto document = document_of(*question, *room, plan, filled, diagnostics);
    if (!passes_all(document, question->scenario)) return No;
    const Undivided writing;
    bool cut = false;
    int status = write(*question, document, cut);
    if (status == Done && question->post) status = post(*question, document);
    if (status != Done || !interrupted()) return status;
    if (cut && question->out.empty()) return say_interrupted("The plan was not printed whole.");
    if (!document.run.interrupted)
        return say_interrupted("The plan had been searched as long as asked, and is written.");
    return say_interrupted(
        fmt::format("The search ended sooner than asked: {}.", report::tried_words(document.run)));
}

}  // namespace sched::app
