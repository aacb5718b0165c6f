// The pots of one emulsion are numbered in the order in which they would be mixed, those in stock
// first. A used one that could as well be an unused one of the same volume before it changes places
// with it, so that unused ones stand last; then the room is compiled with so many of each emulsion
// and the schedule put on it, without the work and the stores that have gone.

#include "sched/app/parts/unused_mixes.hpp"

#include <algorithm>
#include <utility>

#include "sched/app/parts/pinned.hpp"
#include "sched/check/checker.hpp"
#include "sched/compile/same_work.hpp"
#include "sched/core/objective.hpp"
#include "sched/core/pauses.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/search/bounds/bounds.hpp"

namespace sched::app {

namespace {

struct Mix {
    std::vector<std::size_t> operations;
    bool used = false;
    bool begun = false;
};

std::vector<Mix> mixes_in(const compile::RoomProblem& room, const core::Schedule& schedule) {
    std::vector<Mix> mixes(room.mixes.size());
    for (std::size_t i = 0; i < room.operations.size(); ++i) {
        const int mix = room.operations[i].mix;
        if (mix >= 0) mixes[static_cast<std::size_t>(mix)].operations.push_back(i);
        for (const core::StoreId store : schedule.placements[i].stores) {
            for (std::size_t m = 0; m < mixes.size(); ++m)
                mixes[m].used |= room.mixes[m].store == store;
        }
    }
    for (const core::Begun& begun : room.problem.begun) {
        const int mix = room.operations[begun.operation.index()].mix;
        if (mix >= 0) mixes[static_cast<std::size_t>(mix)].begun = true;
    }
    return mixes;
}

// Unused ones last, among those that could stand for each other.
void put_unused_last(const compile::RoomProblem& room, std::vector<Mix>& mixes,
                     core::Schedule& schedule, std::vector<std::int32_t>& turns) {
    const auto free = [&](std::size_t m) { return !mixes[m].begun; };
    for (std::size_t a = 0; a < mixes.size(); ++a) {
        for (std::size_t b = mixes.size() - 1; b > a && !mixes[a].used && free(a); --b) {
            const compile::MixInfo &to = room.mixes[a], &from = room.mixes[b];
            const bool alike = to.emulsion == from.emulsion && to.volume_ml == from.volume_ml &&
                               mixes[a].operations.size() == mixes[b].operations.size();
            if (!mixes[b].used || !free(b) || !alike) continue;
            for (std::size_t k = 0; k < mixes[a].operations.size(); ++k) {
                const std::size_t i = mixes[a].operations[k], j = mixes[b].operations[k];
                std::swap(schedule.placements[i], schedule.placements[j]);
                if (!turns.empty()) std::swap(turns[i], turns[j]);
            }
            for (core::Placement& placement : schedule.placements)
                std::replace(placement.stores.begin(), placement.stores.end(), from.store,
                             to.store);
            std::swap(mixes[a].used, mixes[b].used);
        }
    }
}

// What is left counts from 1 without gaps.
void count_again(std::vector<std::int32_t>& turns) {
    std::vector<std::int32_t> sorted = turns;
    std::sort(sorted.begin(), sorted.end());
    for (std::int32_t& turn : turns) {
        const auto at = std::lower_bound(sorted.begin(), sorted.end(), turn);
        turn = static_cast<std::int32_t>(at - sorted.begin()) + 1;
    }
}

// Of a smaller problem it is another; the plan's breaks could lie elsewhere in their windows.
core::Value bound_of(const core::Problem& problem) {
    const core::Problem without = core::without_movable_pauses(problem);
    const engine::RemainingProblem present(without);
    return search::lower_bounds(present.problem());
}

}  // namespace

void leave_out_unused_mixes(const Question& question, RoomOfPlan& room, FoundPlan& plan) {
    // Limits that the plan misses are let go in its room alone.
    if (!plan.solution.schedule || !plan.notes.empty()) return;
    core::Schedule schedule = *plan.solution.schedule;
    std::vector<std::int32_t> turns = plan.turns;
    auto mixes = mixes_in(plan.room, schedule);
    put_unused_last(plan.room, mixes, schedule, turns);
    compile::CompileOptions how = plan.how;
    how.no_more_mixes.emplace();
    bool some_go = false;
    for (std::size_t m = mixes.size(); m-- > 0;) {
        int& kept = (*how.no_more_mixes)[plan.room.mixes[m].emulsion];
        if (kept > 0 || mixes[m].used || mixes[m].begun)
            ++kept;
        else
            some_go = true;
    }
    if (!some_go) return;

    model::Diagnostics known;
    auto fewer = compiled_again(question, how, known);
    if (!fewer) return;
    for (std::size_t o = 0; o < fewer->room.problem.orders.size(); ++o)
        fewer->room.problem.orders[o].weight = plan.room.problem.orders[o].weight;
    const compile::SameWork same = compile::same_work(plan.room, fewer->room);
    auto left = compile::carried(schedule, same);
    if (!left) return;
    turns = compile::carried(turns, same);
    count_again(turns);
    core::Problem pinned = with_pins(question.pins, fewer->room);
    if (!check::check(fewer->room.problem, *left).empty() || !check::check(pinned, *left).empty())
        return;
    fewer->first = room.first;
    fewer->looked_until = room.looked_until;
    fewer->for_good = room.for_good;
    room = std::move(*fewer);
    plan.room = room.room;
    plan.how = room.how;
    plan.problem = std::move(pinned);
    plan.turns = std::move(turns);
    for (std::vector<double>& list : plan.compared)
        list = compile::carried(list, same);
    core::Solution& solution = plan.solution;
    solution.schedule = std::move(left);
    solution.value = core::evaluate(plan.problem, *solution.schedule);
    solution.bound = bound_of(plan.problem);
    solution.status =
        solution.value == solution.bound ? core::Status::Optimal : core::Status::Feasible;
    solution.elites.clear();
    if (!plan.changes) return;
    plan.changes->solution = solution;
    auto& changes = plan.changes->changes;
    const auto moved = changes.size();
    std::erase_if(changes,
                  [&](const search::Change& c) { return same.operation[c.operation.index()] < 0; });
    plan.changes->changed -= static_cast<int>(moved - changes.size());
    for (search::Change& c : changes)
        c.operation =
            core::OperationId{static_cast<std::size_t>(same.operation[c.operation.index()])};
}

}  // namespace sched::app
