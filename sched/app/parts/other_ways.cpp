// How it works: each way is the scenario with one thing changed, compiled again. It counts where
// its operations mean the same by number, so that the plan at hand can be compared with it; what
// hands and places add is tried in sched/advise/what_if.

#include "sched/app/parts/other_ways.hpp"

#include <algorithm>
#include <optional>

#include <fmt/format.h>

#include "sched/advise/explain.hpp"
#include "sched/compile/frames_at_hand.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/objective.hpp"

namespace sched::app {

namespace {

constexpr std::size_t most_late = 2;  // orders that are looked at
constexpr model::Seconds film_sooner{3600};

// Late orders of the problem, the costliest first.
std::vector<core::OrderId> costliest(const core::Problem& problem, const core::Schedule& schedule) {
    const auto done = core::completions(problem, schedule);
    std::vector<core::OrderId> late;
    const auto cost = [&](core::OrderId o) {
        const auto& order = problem.orders[o.index()];
        if (!order.due || !done[o.index()]) return std::int64_t{0};
        return order.weight * (*done[o.index()] - *order.due).count();
    };
    for (std::size_t o = 0; o < problem.orders.size(); ++o) {
        if (cost(core::OrderId{o}) > 0) late.push_back(core::OrderId{o});
    }
    std::stable_sort(late.begin(), late.end(), [&](auto a, auto b) { return cost(a) > cost(b); });
    late.resize(std::min(late.size(), most_late));
    return late;
}

bool held_by_a_release(const core::Problem& problem, const core::Schedule& schedule,
                       core::OrderId order) {
    const auto chain = search::chain_of(problem, schedule, order);
    return std::any_of(chain.begin(), chain.end(),
                       [](const auto& link) { return link.cause == search::Cause::Release; });
}

// The numbers of the operations mean the same.
bool same_work(const compile::RoomProblem& a, const compile::RoomProblem& b) {
    return std::equal(a.operations.begin(), a.operations.end(), b.operations.begin(),
                      b.operations.end(), [](const auto& x, const auto& y) {
                          return x.step == y.step && x.screen == y.screen && x.mix == y.mix;
                      });
}

bool works_overtime(const core::Problem& problem, const core::Schedule& schedule) {
    const auto value = core::evaluate(problem, schedule);
    for (std::size_t k = 0; k < problem.objective.size(); ++k) {
        if (problem.objective[k] == core::Criterion::Overtime) return value.parts[k] > 0;
    }
    return false;
}

std::string coats(const model::CoatPlan& plan) {
    return fmt::format("{}+{}", plan.print_side, plan.squeegee_side);
}

// The coat plan of that name with one coat fewer, as a new one; nullopt: it has none to spare.
std::optional<std::string> thinner(model::Room& room, const std::string& name, std::string& words) {
    for (const auto& plan : room.coat_plans) {
        if (plan.name != name) continue;
        model::CoatPlan less = plan;
        if (less.squeegee_side > 1)
            --less.squeegee_side;
        else if (less.print_side > 1)
            --less.print_side;
        else
            return std::nullopt;
        words = fmt::format("{} instead of {}", coats(less), coats(plan));
        less.name += " less one coat";
        const std::string made = less.name;
        room.coat_plans.push_back(std::move(less));
        return made;
    }
    return std::nullopt;
}

}  // namespace

OtherWays other_ways(const model::Scenario& scenario, const compile::CompileOptions& options,
                     const compile::RoomProblem& room, const core::Schedule& schedule) {
    OtherWays ways;
    const auto add = [&](const model::Scenario& changed, bool holds, std::string words) {
        model::Diagnostics diagnostics;
        auto made = compile::compile_room(changed, options, diagnostics);
        if (!made || made->problem.resources.size() != room.problem.resources.size() ||
            !same_work(*made, room))
            return;
        // The moment of the plan, what has begun, and who is there now.
        made->problem.now = room.problem.now;
        made->problem.begun = room.problem.begun;
        for (std::size_t r = 0; r < made->problem.resources.size(); ++r)
            made->problem.resources[r].calendar = room.problem.resources[r].calendar;
        ways.rooms.push_back({changed, made->problem});
        ways.problems.push_back({std::move(made->problem), holds});
        ways.words.push_back(std::move(words));
    };
    if (works_overtime(room.problem, schedule)) {
        model::Scenario home = scenario;
        for (model::Person& person : home.room.people)
            person.overtime = model::Seconds{0};
        core::Problem problem = room.problem;
        for (const core::OvertimeWindow& o : problem.overtime) {
            auto& calendar = problem.resources[o.resource.index()].calendar;
            if (calendar) core::close_window(*calendar, o.window);
        }
        problem.overtime.clear();
        ways.rooms.push_back({std::move(home), problem});
        ways.problems.push_back({.problem = std::move(problem)});
        ways.words.emplace_back("nobody works overtime (in room.yaml: overtime: 0 min)");
    }
    for (const core::OrderId late : costliest(room.problem, schedule)) {
        const auto at = static_cast<std::size_t>(room.orders[late.index()]);
        const std::string& name = scenario.orders[at].name;
        model::Scenario sooner = scenario;
        bool film = false;
        for (auto& line : sooner.orders[at].lines) {
            if (!line.film_ready) continue;
            *line.film_ready -= film_sooner;
            film = true;
        }
        if (film && held_by_a_release(room.problem, schedule, late))
            add(sooner, true, fmt::format("the film of {} an hour sooner", name));
        model::Scenario stocked = scenario;
        const std::string frames = compile::frames_at_hand(room, room.orders[late.index()],
                                                           room.problem.horizon_start, stocked);
        if (!frames.empty() && held_by_a_release(room.problem, schedule, late))
            add(stocked, true, fmt::format("{}, in the store for {}", frames, name));
        model::Scenario thin = scenario;
        std::string words;
        bool fewer = false;
        for (auto& line : thin.orders[at].lines) {
            const auto made = thinner(thin.room, line.coat_plan, words);
            if (!made) continue;
            line.coat_plan = *made;
            fewer = true;
        }
        if (fewer && !room.problem.now)  // what hangs in the cabinet has its coats
            add(thin, false,
                fmt::format("one coat fewer for {} ({}; a decision on quality)", name, words));
    }
    return ways;
}

}  // namespace sched::app
