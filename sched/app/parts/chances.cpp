#include "sched/app/parts/chances.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "sched/app/parts/context.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/replicate.hpp"
#include "sched/simulate/robust.hpp"

namespace sched::app {

namespace {

study::ReplicateOptions replicate_options(const Question& question, int replications) {
    study::ReplicateOptions options;
    options.replications = static_cast<std::size_t>(replications);
    options.seed = question.how.seed;
    options.threads = question.how.threads;
    options.stop = question.how.stop;
    options.policy = question.days.policy;
    options.chance = question.days.chance;
    return options;
}

}  // namespace

void add_chances(const SimulatedRoom& of, const core::Schedule& schedule,
                 const std::vector<std::int32_t>& turns, report::PlanDocument& document) {
    constexpr int most_days = 10'000;  // where only a precision is asked for
    constexpr double least_seconds = 0.5;
    const double share_of_budget = of.question.what_if ? 0.15 : 0.2;
    const Question::Days& days = of.question.days;
    auto options = replicate_options(of.question, days.number > 0 ? days.number : most_days);
    if (days.precision) {
        options.precision =
            study::Precision{.relative = *days.precision / 100.0, .confidence = 0.95};
    }
    options.operations = true;
    // Days that nobody asked for are within the budget.
    const auto& budget = of.question.how.budget;
    const auto begin = std::chrono::steady_clock::now();
    if (days.usual && budget.seconds) {
        const double most = std::max(least_seconds, share_of_budget * *budget.seconds);
        options.stop = [most, begin, stop = options.stop] {
            const std::chrono::duration<double> used = std::chrono::steady_clock::now() - begin;
            return (stop && stop()) || used.count() > most;
        };
    }
    options.turns = study::turns_in_seconds(schedule, turns);
    ProgressLine line;
    if (!of.question.quiet) {
        options.progress = [&](std::size_t done, std::size_t all) {
            line.show("simulating: " + std::to_string(done) + " of " + std::to_string(all) +
                      " days");
        };
    }
    const auto start = of.room.problem.horizon_start;
    const auto found = study::replicate(of.question.scenario, of.how, of.room, &schedule, options);
    if (!found) return;
    if (found->incomplete > 0) {
        document.warnings.push_back(
            {.words = fmt::format("{} of {} simulated days did not come to an end within {} more "
                                  "days; all orders count as late on them.",
                                  found->incomplete, found->used + found->incomplete,
                                  options.spare_days)});
    }
    const auto at = [&](double seconds) { return start + model::round_up(std::max(0.0, seconds)); };
    for (const auto& outcome : found->orders) {
        for (auto& order : document.orders) {
            if (order.name != outcome.name) continue;
            if (outcome.n > 0) {
                order.chance_late =
                    static_cast<double>(outcome.late) / static_cast<double>(outcome.n);
            }
            order.ready_p10 = at(outcome.p10.value);
            order.ready_p50 = at(outcome.p50.value);
            order.ready_p90 = at(outcome.p90.value);
        }
    }
    for (std::size_t i = 0; i < document.operations.size() && i < found->operations.size(); ++i) {
        const auto& outcome = found->operations[i];
        if (outcome.n == 0) continue;
        auto& operation = document.operations[i];
        operation.start_p10 = at(outcome.begin_p10);
        operation.start_p90 = at(outcome.begin_p90);
        operation.work_end_p10 = at(outcome.done_p10);
        operation.work_end_p90 = at(outcome.done_p90);
    }
    document.run.replications = static_cast<std::int64_t>(found->used + found->incomplete);
}

std::size_t choose_of(const SimulatedRoom& of, const std::vector<core::Schedule>& plans,
                      std::string& words) {
    constexpr int usual_days = 300;
    const int days = of.question.days.number > 0 ? of.question.days.number : usual_days;
    const auto choice = study::choose_robust(of.question.scenario, of.how, of.room, plans,
                                             replicate_options(of.question, days));
    words = choice ? choice->words : "the plans could not be simulated; the best on paper is taken";
    return choice ? choice->chosen : 0;
}

}  // namespace sched::app
