#include "sched/size/size_orders.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <tuple>
#include <utility>

#include "sched/core/index.hpp"
#include "sched/search/solve.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/list_search.hpp"

namespace sched::study {

namespace {

/// The days that choose are no days of the study.
std::uint64_t search_of_orders() {
    return engine::name_key("order of work");
}
constexpr std::size_t deciding_days_of_a_room = 50;

std::size_t run_size(const compile::RoomProblem& room) {
    std::size_t run = room.problem.operations.size();
    for (const auto& way : room.spare)
        run = std::min(run, ix(way.first));
    for (const auto& emulsion : room.spare_emulsions) {
        for (const auto& mix : emulsion.mixes)
            run = std::min(run, ix(mix.first));
    }
    return run;
}

}  // namespace

std::optional<SizeOrder> search_order(const model::Scenario& scenario, const SizeRoom& room,
                                      const SizeOptions& settings, const std::string& day_kind,
                                      std::int64_t effort) {
    compile::CompileOptions compiled{
        .start = settings.start, .days = settings.days + 1, .day_kind = day_kind};
    if (!room.how.mixes.empty()) {  // the pots of the room that works by it
        compiled.days = room.how.days;
        compiled.mixes = room.how.mixes;
    }
    model::Diagnostics diagnostics;
    const auto run = compile::compile_room(scenario, compiled, diagnostics);
    if (!run) return std::nullopt;
    search::SearchOptions how;
    how.budget.evaluations = effort;
    how.seed = engine::join_keys(settings.seed, search_of_orders());
    how.threads = settings.threads;
    how.stop = settings.stop;
    const core::Solution paper = search::solve(run->problem, how);
    if (!paper.schedule) return std::nullopt;
    const ChancePlan found =
        plan_for_chance(scenario, compiled, *run, run->problem, *paper.schedule,
                        {.how = how,
                         .chance = settings.chance,
                         .deciding = deciding_days_of_a_room,
                         .progress = {}});
    SizeOrder order;
    if (found.turns.empty()) {
        order.words = "the plan that is best on paper";
        order.plan = std::make_shared<const core::Schedule>(found.schedule);
        order.run = starts_in_seconds(found.schedule);
    } else {
        order.words = "an order of work chosen on simulated days";
        order.run = turns_in_seconds(found.schedule, found.turns);
        order.list =
            std::make_shared<const std::vector<double>>(turns_of_room(room.room, order.run));
    }
    return order;
}

SizeOrder carried_over(const SizeOrder& order, const compile::RoomProblem& from,
                       const compile::RoomProblem& to) {
    using Name =
        std::tuple<std::string, int, int, int, int>;  // screen, step, part, round, how many
    const auto tag = [](const compile::RoomProblem& room, std::size_t i) {
        const int screen = room.operations[i].screen;
        return screen < 0 ? std::string() : room.screens[ix(screen)].tag;
    };
    const auto names = [&](const compile::RoomProblem& room, std::size_t count) {
        std::map<Name, int> before;
        std::vector<Name> out;
        for (std::size_t i = 0; i < count; ++i) {
            const auto& o = room.operations[i];
            Name name{tag(room, i), static_cast<int>(o.step), static_cast<int>(o.part), o.round, 0};
            std::get<4>(name) = before[name]++;
            out.push_back(std::move(name));
        }
        return out;
    };
    std::map<Name, double> by_name;
    std::map<std::string, double> first_of_screen;
    const auto old = names(from, order.run.size());
    for (std::size_t i = 0; i < old.size(); ++i) {
        by_name.emplace(old[i], order.run[i]);
        const auto [at, added] = first_of_screen.emplace(std::get<0>(old[i]), order.run[i]);
        if (!added) at->second = std::min(at->second, order.run[i]);
    }
    SizeOrder out;
    out.words = order.words;
    for (const Name& name : names(to, run_size(to))) {
        const auto same = by_name.find(name);
        const auto screen = first_of_screen.find(std::get<0>(name));
        out.run.push_back(same != by_name.end()             ? same->second
                          : screen != first_of_screen.end() ? screen->second
                                                            : 0.0);
    }
    out.list = std::make_shared<const std::vector<double>>(turns_of_room(to, out.run));
    return out;
}

}  // namespace sched::study
