// How it works: the options are checked and the posted plan is read; the state and the plan say
// what has begun, which becomes part of the problem; then it is planned again, once or several
// times with simulated days to choose by, and, if limits of screens under way cannot be kept,
// with as few of them missed as is found.

#include "sched/app/parts/replanning.hpp"

#include <algorithm>
#include <cstdio>
#include <variant>

#include "model/base/units.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/under_way.hpp"
#include "sched/check/checker.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/report/plan/replan_lines.hpp"

namespace sched::app {

namespace {

int refuse(const char* words) {
    std::fprintf(stderr, "coatroom plan: %s\n", words);
    return BadInput;
}

search::ReplanOptions options_of(const compile::RoomProblem& room, const core::Problem& problem,
                                 const Midday& midday) {
    search::ReplanOptions how{.frozen = midday.frozen};
    how.place = room.changes_at.value_or(search::place_of_changes(problem));
    return how;
}

}  // namespace

std::optional<int> read_midday(const PlanArgs& args, Midday& midday) {
    if (args.now.empty()) {
        if (!args.earlier.empty())
            return refuse("--earlier needs the present time. Add --now 10:40.");
        if (!args.state.empty()) return refuse("--state needs the present time. Add --now 10:40.");
        if (!args.frozen.empty())
            return refuse("--frozen needs the present time. Add --now 10:40.");
        return std::nullopt;
    }
    if (!args.frozen.empty()) {
        if (args.earlier.empty())
            return refuse("--frozen holds what an earlier plan says. Add --earlier PLAN.json.");
        const auto length = model::parse_duration(args.frozen);
        if (!length.value || length.value->count() < 0) {
            std::fprintf(stderr,
                         "coatroom plan: --frozen %s is no length of time. Write 30min or 1h.\n",
                         args.frozen.c_str());
            return BadInput;
        }
        midday.frozen = *length.value;
    }
    if (args.earlier.empty()) return std::nullopt;
    model::Diagnostics diagnostics;
    std::string problem;
    midday.posted = read_posted(args.earlier, problem, diagnostics);
    print_diagnostics(diagnostics, args.json);
    if (!problem.empty()) return refuse(problem.c_str());
    if (!midday.posted) return BadInput;
    return std::nullopt;
}

std::optional<model::SimTime> start_of(const Midday& midday) {
    if (!midday.posted) return std::nullopt;
    return midday.posted->problem.horizon_start;
}

bool set_now(const PlanArgs& args, model::SimTime start, Midday& midday) {
    if (args.now.empty()) return true;
    std::string problem;
    midday.now = now_of(args.now, start, problem);
    if (!midday.now) refuse(problem.c_str());
    return midday.now.has_value();
}

std::optional<int> begin_midday(const PlanArgs& args, Midday& midday, compile::RoomProblem& room,
                                model::Diagnostics& diagnostics) {
    if (!midday.now) return std::nullopt;
    if (*midday.now >= room.problem.horizon_end)
        return refuse("--now lies behind the days that are planned.");
    const auto state = read_state_of({.scenario = args.scenario, .state = args.state}, diagnostics);
    if (!state) return BadInput;
    study::BegunDay day{.now = *midday.now, .state = *state};
    if (midday.posted) day.posted = {midday.posted->problem, midday.posted->schedule};
    midday.earlier = study::earlier_of(day, room);
    if (!study::put_begun(day, midday.earlier, room, midday.notes, diagnostics)) return BadInput;
    const engine::RemainingProblem present(room.problem);
    for (const std::size_t c : present.missed())
        midday.notes.push_back(study::missed_words(room, c));
    return std::nullopt;
}

core::Solution plan_again(const compile::RoomProblem& room, const core::Problem& problem,
                          const search::SearchOptions& options, Midday& midday) {
    search::ReplanOptions how = options_of(room, problem, midday);
    core::Schedule same;
    for (const auto& p : midday.earlier) {
        if (p) same.placements.push_back(*p);
    }
    how.still_right =
        same.placements.size() == problem.operations.size() && check::check(problem, same).empty();
    midday.replan = search::replan(problem, midday.earlier, how, options);
    return midday.replan->solution;
}

core::Solution plan_again_robust(const ChanceOfPlan& disturbances, const core::Problem& problem,
                                 Midday& midday, std::string& words) {
    const int wanted = disturbances.args.robust;
    std::vector<search::Replan> found;
    std::int64_t evaluations = 0;
    for (int k = 0; k < wanted; ++k) {
        auto options = share_of(disturbances.search, k == 0 ? 0.5 : 0.5 / (wanted - 1));
        options.seed = disturbances.args.search.seed + static_cast<std::uint64_t>(k);
        const core::Solution one = plan_again(disturbances.room, problem, options, midday);
        evaluations += one.evaluations;
        if (!one.schedule) continue;
        const bool known = std::any_of(found.begin(), found.end(), [&](const search::Replan& r) {
            return r.solution.schedule->placements == one.schedule->placements;
        });
        if (!known) found.push_back(*midday.replan);
    }
    if (found.empty()) return midday.replan->solution;
    std::stable_sort(found.begin(), found.end(),
                     [](const search::Replan& a, const search::Replan& b) {
                         return a.solution.value.parts < b.solution.value.parts;
                     });
    std::vector<core::Schedule> plans;
    for (const auto& r : found)
        plans.push_back(*r.solution.schedule);
    midday.replan = found[choose_of(disturbances, plans, words)];
    midday.replan->solution.evaluations = evaluations;
    return midday.replan->solution;
}

core::Solution plan_with_limits_missed(compile::RoomProblem& room, core::Problem& problem,
                                       const search::SearchOptions& options, Midday& midday) {
    auto loose =
        search::let_limits_go(problem, midday.earlier, options_of(room, problem, midday), options);
    if (!loose.replan.solution.schedule) return loose.replan.solution;
    for (const std::size_t c : loose.missed) {
        midday.notes.push_back(study::missed_words(room, c));
        std::get<core::TimeLag>(room.problem.constraints[c]).max.reset();
    }
    problem = std::move(loose.problem);
    core::Solution solution = loose.replan.solution;
    if (midday.posted) midday.replan = std::move(loose.replan);
    return solution;
}

void say_again(const Midday& midday, const core::Problem& problem, report::PlanDocument& document) {
    if (!midday.now) return;
    report::AgainFacts facts;
    facts.notes = midday.notes;
    if (midday.replan) {
        facts.earlier = &midday.earlier;
        facts.replan = &*midday.replan;
    }
    report::add_again(problem, facts, document);
}

}  // namespace sched::app
