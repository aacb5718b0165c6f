#include "sched/app/parts/chances.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/app/parts/context.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/solve.hpp"
#include "sched/simulate/replicate.hpp"
#include "sched/simulate/robust.hpp"

namespace sched::app {

namespace {

study::ReplicateOptions replicate_options(const ChanceOfPlan& what, int replications) {
    study::ReplicateOptions options;
    options.replications = static_cast<std::size_t>(replications);
    options.seed = what.args.search.seed;
    options.threads = what.search.threads;
    options.stop = what.search.stop;
    options.policy = what.args.policy;
    options.chance = what.chance;
    return options;
}

}  // namespace

void add_chances(const ChanceOfPlan& what, const core::Solution& solution,
                 report::PlanDocument& document) {
    constexpr int most_days = 10'000;  // where only a precision is asked for
    auto options =
        replicate_options(what, what.args.replications > 0 ? what.args.replications : most_days);
    if (what.args.precision) {
        options.precision =
            study::Precision{.relative = *what.args.precision / 100.0, .confidence = 0.95};
    }
    options.operations = true;
    ProgressLine line;
    if (!what.args.quiet) {
        options.progress = [&](std::size_t done, std::size_t of) {
            line.show("simulating: " + std::to_string(done) + " of " + std::to_string(of) +
                      " days");
        };
    }
    const auto start = what.room.problem.horizon_start;
    const auto found = study::replicate(what.scenario, what.compile_options, what.room,
                                        &*solution.schedule, options);
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

std::size_t choose_of(const ChanceOfPlan& what, const std::vector<core::Schedule>& plans,
                      std::string& words) {
    const int days = what.args.replications > 0 ? what.args.replications : 300;
    const auto choice = study::choose_robust(what.scenario, what.compile_options, what.room, plans,
                                             replicate_options(what, days));
    words = choice ? choice->words : "the plans could not be simulated; the best on paper is taken";
    return choice ? choice->chosen : 0;
}

search::SearchOptions share_of(const search::SearchOptions& whole, double part) {
    search::SearchOptions o = whole;
    if (o.budget.evaluations) {
        o.budget.evaluations = std::max<std::int64_t>(
            1, static_cast<std::int64_t>(part * static_cast<double>(*o.budget.evaluations)));
    }
    if (o.budget.seconds) o.budget.seconds = part * *o.budget.seconds;
    return o;
}

core::Solution solve_robust(const ChanceOfPlan& what, const core::Problem& problem,
                            std::string& words) {
    const int wanted = what.args.robust;
    std::vector<core::Solution> found;
    found.push_back(search::solve(problem, share_of(what.search, 0.5)));
    if (!found.front().schedule) return found.front();
    std::int64_t evaluations = found.front().evaluations;
    for (int k = 1; k < wanted; ++k) {
        search::SearchOptions other = share_of(what.search, 0.5 / (wanted - 1));
        other.seed = what.search.seed + static_cast<std::uint64_t>(k);
        found.push_back(search::solve(problem, other));
        evaluations += found.back().evaluations;
    }
    // Best on paper first; what the searches met besides counts too, each schedule once.
    std::stable_sort(found.begin(), found.end(),
                     [](const core::Solution& a, const core::Solution& b) {
                         if (!a.schedule || !b.schedule) return a.schedule.has_value();
                         return a.value.parts < b.value.parts;
                     });
    std::vector<core::Schedule> plans;
    const auto add = [&](const core::Schedule& schedule) {
        const bool known = std::any_of(plans.begin(), plans.end(), [&](const core::Schedule& p) {
            return p.placements == schedule.placements;
        });
        if (!known && plans.size() < static_cast<std::size_t>(wanted)) plans.push_back(schedule);
    };
    for (const auto& s : found) {
        if (s.schedule) add(*s.schedule);
    }
    for (const auto& s : found) {
        for (const auto& elite : s.elites)
            add(elite);
    }
    core::Solution best = found.front();
    best.evaluations = evaluations;
    best.schedule = plans[choose_of(what, plans, words)];
    best.value = core::evaluate(problem, *best.schedule);
    if (best.value != best.bound) best.status = core::Status::Feasible;
    return best;
}

}  // namespace sched::app
