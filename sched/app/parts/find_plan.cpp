// One entry for every search that `plan` asks for. A try is a search from one seed: of the whole
// day with its breaks, or from now on against the plan that hangs. --robust makes several tries,
// half of the budget for the first, and lets simulated days choose. Where no plan keeps the limits
// of what has begun, they are exceeded by as little as is found, and named. Then simulated days
// choose the order of work, unless it is wanted on paper; what is posted stays where they do not
// show that another costs less.

#include "sched/app/parts/find_plan.hpp"

#include <algorithm>
#include <cstdio>
#include <variant>

#include "sched/advise/pause_search.hpp"
#include "sched/app/parts/chances.hpp"
#include "sched/app/parts/under_way.hpp"
#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/core/pauses.hpp"
#include "sched/report/plan/replan_lines.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/solve.hpp"
#include "sched/simulate/begun_day.hpp"
#include "sched/simulate/chance_plan.hpp"

namespace sched::app {

namespace {

// Of the budget, where the first answer found no plan that keeps the limits of what has begun.
constexpr double share_of_all_kept = 0.3;

// Of the budget, for the plan without random variation; the rest goes to simulated days.
constexpr double share_on_paper = 0.15;

search::SearchOptions share_of(const search::SearchOptions& whole, double part) {
    search::SearchOptions o = whole;
    if (o.budget.evaluations) {
        o.budget.evaluations = std::max<std::int64_t>(
            1, static_cast<std::int64_t>(part * static_cast<double>(*o.budget.evaluations)));
    }
    if (o.budget.seconds) o.budget.seconds = part * *o.budget.seconds;
    return o;
}

class Finder {
public:
    Finder(const Question& question, const RoomOfPlan& room, const core::Problem& pinned)
        : question_(question), room_(room) {
        plan_.room = room.room;
        plan_.how = room.how;
        plan_.problem = pinned;
    }

    FoundPlan run(const search::SearchOptions& whole,
                  const std::function<void(const std::string&)>& tell) {
        const bool by_chance =
            !question_.on_paper && !study::nothing_by_chance(question_.days.chance);
        const search::SearchOptions options = by_chance ? share_of(whole, share_on_paper) : whole;
        const bool all_kept = room_.first.kind == search::FirstAnswer::Kind::Plan;
        const bool may_miss = question_.midday && !all_kept;
        first_try(share_of(options, may_miss               ? share_of_all_kept
                                    : question_.robust > 1 ? 0.5
                                                           : 1.0));
        if (question_.robust > 1 && plan_.solution.schedule) choose(options);
        const auto over = [&] { return options.stop && options.stop(); };
        if (!plan_.solution.schedule && !over()) keep_deadlines(options);
        const bool stopped = over();  // then it has shown nothing
        if (!plan_.solution.schedule && question_.midday && !stopped)
            miss_limits(share_of(options, may_miss ? 1.0 - share_of_all_kept : 1.0));
        if (!plan_.solution.schedule && all_kept && plan_.problem == room_.room.problem) {
            plan_.solution.schedule = room_.first.schedule;
            plan_.solution.status = core::Status::Feasible;
            plan_.solution.value = core::evaluate(plan_.problem, *room_.first.schedule);
        }
        core::place_pauses(plan_.room.problem, plan_.problem.pauses);
        plan_.how.pauses = plan_.problem.pauses;
        if (by_chance && plan_.solution.schedule)
            choose_for_chance(share_of(whole, 1.0 - share_on_paper), tell);
        return std::move(plan_);
    }

private:
    bool hangs() const { return question_.midday && question_.midday->posted; }

    search::ReplanOptions how_to_replan() const {
        search::ReplanOptions how{.frozen = question_.midday->frozen};
        how.place = room_.room.changes_at.value_or(search::place_of_changes(plan_.problem));
        how.still_right = posted_schedule().has_value();
        return how;
    }

    // The plan that hangs, where it can be kept as it is.
    std::optional<core::Schedule> posted_schedule() const {
        core::Schedule same;
        for (const auto& p : room_.earlier) {
            if (p) same.placements.push_back(*p);
        }
        if (same.placements.size() != plan_.problem.operations.size() ||
            !check::check(plan_.problem, same).empty())
            return std::nullopt;
        return same;
    }

    // The breaks are the plan's decision too: they lie in plan_.problem from here on.
    void first_try(const search::SearchOptions& options) {
        if (hangs()) {
            plan_.changes = search::replan(plan_.problem, room_.earlier, how_to_replan(), options);
            plan_.solution = plan_.changes->solution;
            return;
        }
        auto found = search::solve_with_pauses(plan_.problem, options);
        plan_.solution = std::move(found.solution);
        plan_.problem = std::move(found.problem);
    }

    // To a pin "A7 by 12:30" the search has no way: a schedule that misses it is none. So it is
    // first wanted more than all else, and held if it was reached.
    void keep_deadlines(const search::SearchOptions& options) {
        constexpr std::int64_t more_than_all_else = 10000;
        const core::Problem held = plan_.problem;
        core::Problem wanted = held;
        for (core::Order& order : wanted.orders) {
            if (!order.deadline) continue;
            order.due = order.due ? std::min(*order.due, *order.deadline) : *order.deadline;
            order.weight = more_than_all_else;
            order.deadline.reset();
        }
        if (wanted.orders == held.orders) return;
        if (wanted.objective.front() != core::Criterion::WeightedTardiness)
            wanted.objective.insert(wanted.objective.begin(), core::Criterion::WeightedTardiness);
        plan_.problem = wanted;
        first_try(options);
        plan_.problem.orders = held.orders;
        plan_.problem.objective = held.objective;
        core::Solution& found = plan_.solution;
        if (found.schedule && !check::check(plan_.problem, *found.schedule).empty())
            found.schedule.reset();
        if (!found.schedule) {
            plan_.problem = held;
            plan_.changes.reset();
            return;
        }
        found.value = core::evaluate(plan_.problem, *found.schedule);
        found.bound = search::lower_bounds(plan_.problem);
        found.status = found.value == found.bound ? core::Status::Optimal : core::Status::Feasible;
        found.elites.clear();
        if (plan_.changes) plan_.changes->solution = found;
    }

    // The plan is what costs least on the days that may come; what the search on paper found says
    // how good it is without random variation.
    void choose_for_chance(const search::SearchOptions& options,
                           const std::function<void(const std::string&)>& tell) {
        study::ChancePlanOptions how{
            .how = options, .chance = question_.days.chance, .progress = tell};
        if (question_.days.usual && !question_.what_if)
            how.days_after = static_cast<std::size_t>(question_.days.number);
        if (hangs()) {
            how.posted = {.turns = study::posted_turns(posted_plan(*question_.midday->posted),
                                                       plan_.problem, *plan_.solution.schedule),
                          .schedule = posted_schedule()};
            how.held = plan_.changes->held;
        }
        auto found = study::plan_for_chance(question_.scenario, plan_.how, plan_.room,
                                            plan_.problem, *plan_.solution.schedule, how);
        plan_.solution.evaluations += found.evaluations;
        if (!check::check(plan_.problem, found.schedule).empty()) return;
        plan_.turns = std::move(found.turns);
        plan_.compared = std::move(found.compared);
        plan_.chosen = std::move(found.words);
        if (!hangs() && found.schedule != *plan_.solution.schedule)
            plan_.on_paper = {core::evaluate(plan_.problem, *plan_.solution.schedule),
                              core::completions(plan_.problem, *plan_.solution.schedule)};
        plan_.solution.schedule = std::move(found.schedule);
        plan_.solution.value = core::evaluate(plan_.problem, *plan_.solution.schedule);
        plan_.solution.status = plan_.solution.value == plan_.solution.bound
                                    ? core::Status::Optimal
                                    : core::Status::Feasible;
        if (!plan_.changes) return;
        std::string words = plan_.chosen;
        if (!plan_.turns.empty() && plan_.turns == posted_plan(*question_.midday->posted).turns)
            words += " The turns on the posted sheets still hold.";
        plan_.stays = words;
        plan_.changes->solution = plan_.solution;
        search::list_changes(plan_.problem, room_.earlier, how_to_replan().tolerance,
                             *plan_.changes);
        const int moved = static_cast<int>(
            std::count_if(how.held.begin(), how.held.end(), [&](core::OperationId id) {
                return std::any_of(plan_.changes->changes.begin(), plan_.changes->changes.end(),
                                   [&](const search::Change& c) { return c.operation == id; });
            }));
        plan_.changes->frozen -= moved;
        plan_.changes->relaxed += moved;
    }

    // Other tries from other seeds; what the searches met besides counts too, each schedule once.
    void choose(const search::SearchOptions& options) {
        const int wanted = question_.robust;
        std::vector<search::Replan> tries{{.solution = plan_.solution}};
        if (plan_.changes) tries.front() = *plan_.changes;
        std::int64_t evaluations = plan_.solution.evaluations;
        for (int k = 1; k < wanted; ++k) {
            auto other = share_of(options, 0.5 / (wanted - 1));
            other.seed = options.seed + static_cast<std::uint64_t>(k);
            search::Replan next;
            if (hangs())
                next = search::replan(plan_.problem, room_.earlier, how_to_replan(), other);
            else
                next.solution = search::solve(plan_.problem, other);
            evaluations += next.solution.evaluations;
            if (next.solution.schedule) tries.push_back(std::move(next));
        }
        std::stable_sort(tries.begin(), tries.end(),
                         [](const search::Replan& a, const search::Replan& b) {
                             return a.solution.value.parts < b.solution.value.parts;
                         });
        if (!hangs()) add_elites(tries);
        std::vector<search::Replan> found;
        std::vector<core::Schedule> plans;
        for (auto& x : tries) {
            const bool known =
                std::any_of(plans.begin(), plans.end(), [&](const core::Schedule& p) {
                    return p.placements == x.solution.schedule->placements;
                });
            if (known || plans.size() == static_cast<std::size_t>(wanted)) continue;
            plans.push_back(*x.solution.schedule);
            found.push_back(std::move(x));
        }
        compile::RoomProblem room = plan_.room;
        core::place_pauses(room.problem, plan_.problem.pauses);
        compile::CompileOptions how = plan_.how;
        how.pauses = plan_.problem.pauses;
        const std::size_t best = choose_of({question_, how, room}, plans, plan_.chosen);
        found[best].solution.evaluations = evaluations;
        plan_.solution = found[best].solution;
        if (plan_.changes) plan_.changes = std::move(found[best]);
    }

    void add_elites(std::vector<search::Replan>& tries) const {
        const std::size_t searched = tries.size();
        for (std::size_t k = 0; k < searched; ++k) {
            for (const core::Schedule& elite : tries[k].solution.elites) {
                core::Solution one = tries.front().solution;
                one.schedule = elite;
                one.value = core::evaluate(plan_.problem, elite);
                one.status =
                    one.value == one.bound ? core::Status::Optimal : core::Status::Feasible;
                tries.push_back({.solution = std::move(one)});
            }
        }
    }

    void miss_limits(const search::SearchOptions& options) {
        auto how = how_to_replan();
        auto loose = search::let_limits_go(plan_.problem, room_.earlier, how, options);
        if (!loose.replan.solution.schedule) {
            plan_.in_the_way = search::first_answer(loose.problem, options.stop);
            return;
        }
        for (const std::size_t c : loose.missed) {
            plan_.notes.push_back(study::missed_words(plan_.room, c));
            std::get<core::TimeLag>(plan_.room.problem.constraints[c]).max.reset();
        }
        search::stand_through(plan_.room.problem, loose.closings);
        for (std::string& words : study::stood_words(plan_.room, loose.stood))
            plan_.notes.push_back(std::move(words));
        plan_.problem = std::move(loose.problem);
        plan_.solution = loose.replan.solution;
        if (hangs()) plan_.changes = std::move(loose.replan);
    }

    const Question& question_;
    const RoomOfPlan& room_;
    FoundPlan plan_;
};

}  // namespace

FoundPlan find_plan(const Question& question, const RoomOfPlan& room, const core::Problem& pinned,
                    const search::SearchOptions& options,
                    const std::function<void(const std::string&)>& tell) {
    return Finder(question, room, pinned).run(options, tell);
}

void say_changes(const Question& question, const RoomOfPlan& room, const FoundPlan& plan,
                 report::PlanDocument& document) {
    if (!plan.room.problem.now) return;
    report::AgainFacts facts;
    facts.notes = room.notes;
    facts.notes.insert(facts.notes.end(), plan.notes.begin(), plan.notes.end());
    if (!plan.stays.empty()) facts.notes.push_back(plan.stays);
    if (plan.changes) {
        facts.earlier = &room.earlier;
        facts.replan = &*plan.changes;
    }
    if (question.midday) {
        for (const auto& screen : question.midday->state.screens) {
            if (screen.failed) facts.failed.push_back(screen.screen);
        }
    }
    report::add_again(plan.room.problem, facts, document);
}

}  // namespace sched::app
