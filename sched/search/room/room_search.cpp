// How it works: as many starts as the budget is good for (start.hpp), each a search of its own that
// begins from the rules; they share the budget, the best of them is the answer and the others are
// handed on. Where no rule leads to an end while limits of hours are loose, all of it is done with
// tied ones.

#include "sched/search/room/room_search.hpp"

#include <algorithm>
#include <map>
#include <numeric>

#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/room/start.hpp"

namespace sched::search {

namespace {

// So many schedules a start before another one is worth its while: more for larger problems.
constexpr std::int64_t kEvaluationsAStart = 10'000;
constexpr std::int64_t kEvaluationsAnOperation = 400;

struct RoomResult {
    std::optional<core::Schedule> schedule;
    RoomValue value;
    std::int64_t evaluations = 0;
};

// No rule leads to an end where limits of hours are not tied (core::Ties).
bool misses_limits(const engine::CompiledProblem& compiled) {
    if (std::none_of(compiled.blocks.begin(), compiled.blocks.end(),
                     [](const engine::Block& b) { return b.limits; }))
        return false;
    engine::Decoder decoder(compiled);
    const auto views = engine::rule_views(compiled);
    const auto rules = engine::rules();
    return std::none_of(rules.begin(), rules.end(), [&](const engine::Rule& rule) {
        return decoder.decode(engine::rule_sequence(compiled, views, rule));
    });
}

}  // namespace

core::Solution search_room(const core::Problem& problem, const SearchOptions& options) {
    return search_room(problem, options, {});
}

core::Solution search_room(const core::Problem& problem, const SearchOptions& options,
                           const RoomGuide& guide) {
    const engine::RemainingProblem present(problem);
    const engine::CompiledProblem compiled(present.problem());
    if (!guide.known && misses_limits(compiled)) {
        core::Problem tied = problem;
        tied.ties = *core::tighter(problem);
        return search_room(tied, options, guide);
    }
    const RoomUnits units(compiled);
    const std::optional<GraphModel> graph = GraphModel::of(compiled);
    SharedWatch shared(options);
    const RoomValue bound = guide.bounds ? lower_bounds(present.problem()).parts
                                         : RoomValue(problem.objective.size(), 0);
    RoomValue goal = bound;
    if (guide.count) goal.insert(goal.begin() + static_cast<std::ptrdiff_t>(guide.place), 0);
    std::vector<RoomPoint> first;
    for (const auto& sequence : guide.first)
        first.push_back(to_point(compiled, sequence));
    const int starts = number_of_starts(
        options,
        std::max(kEvaluationsAStart,
                 kEvaluationsAnOperation * static_cast<std::int64_t>(compiled.operations.size())));
    const auto results = run_starts<RoomResult>(shared, starts, [&](int s, Watch& watch) {
        RoomStart start(compiled, units, goal, guide, graph ? &*graph : nullptr, options.seed, s,
                        watch);
        start.run(first);
        return RoomResult{start.schedule(), start.value(), watch.evaluations()};
    });
    core::Solution solution;
    solution.interrupted = shared.interrupted;
    solution.bound.parts = bound;
    const RoomResult* best = nullptr;
    for (const auto& r : results) {
        solution.evaluations += r.evaluations;
        if (r.schedule && (!best || r.value < best->value)) best = &r;
    }
    if (!best) return solution;
    std::vector<const RoomResult*> others;
    for (const auto& r : results) {
        if (r.schedule && &r != best) others.push_back(&r);
    }
    std::stable_sort(others.begin(), others.end(),
                     [](const auto* a, const auto* b) { return a->value < b->value; });
    for (const auto* r : others)
        solution.elites.push_back(present.whole(*r->schedule));
    solution.schedule = present.whole(*best->schedule);
    solution.value = core::evaluate(problem, *solution.schedule);
    solution.status =
        solution.value == solution.bound ? core::Status::Optimal : core::Status::Feasible;
    return solution;
}

std::vector<std::int32_t> waiting_batches_of(const engine::CompiledProblem& compiled,
                                             const core::Schedule& schedule) {
    std::vector<std::int32_t> waiting_batch;
    if (!compiled.batches) return waiting_batch;
    std::map<int, std::vector<std::size_t>> members;
    for (std::size_t i = 0; i < schedule.placements.size(); ++i) {
        if (schedule.placements[i].batch) members[*schedule.placements[i].batch].push_back(i);
    }
    for (const auto& [batch, together] : members) {
        if (together.size() < 2) continue;
        waiting_batch.resize(schedule.placements.size(), -1);
        for (const std::size_t i : together)
            waiting_batch[i] = static_cast<std::int32_t>(together.front());
    }
    return waiting_batch;
}

engine::Sequence sequence_of(const engine::CompiledProblem& compiled,
                             const core::Schedule& schedule, bool keep_waits) {
    const auto instant = [](core::SimTime t) { return t.time_since_epoch().count(); };
    const std::size_t n = compiled.operations.size();
    std::vector<std::int32_t> order(n);
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](std::int32_t a, std::int32_t b) {
        return schedule.placements[static_cast<std::size_t>(a)].start <
               schedule.placements[static_cast<std::size_t>(b)].start;
    });
    engine::Sequence s;
    s.rank.resize(n);
    for (std::size_t k = 0; k < n; ++k)
        s.rank[static_cast<std::size_t>(order[k])] = static_cast<std::int32_t>(k);
    s.mode.resize(n);
    s.choice.assign(n, 0);
    s.delay.assign(n, 0);
    s.waits_inside = keep_waits;
    for (std::size_t i = 0; i < n; ++i) {
        const core::Placement& at = schedule.placements[i];
        const engine::CompiledOperation& o = compiled.operations[i];
        s.mode[i] = static_cast<std::int16_t>(o.modes.size() > 1 ? at.mode : -1);
        const auto& needs =
            compiled.problem.operations[i].modes[static_cast<std::size_t>(at.mode)].needs;
        for (std::size_t k = 0; k < needs.size(); ++k) {
            const auto found =
                std::find(needs[k].any_of.begin(), needs[k].any_of.end(), at.chosen[k]);
            const auto turn = found - needs[k].any_of.begin();
            if (turn > 0 && turn < 256) s.choice[i] = static_cast<std::uint8_t>(turn);
        }
        if (!keep_waits) continue;
        engine::Tick ready = o.not_before;
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const auto& l =
                compiled
                    .lags[static_cast<std::size_t>(compiled.lags_in[static_cast<std::size_t>(k)])];
            const core::Placement& from = schedule.placements[static_cast<std::size_t>(l.from)];
            const engine::Tick edge =
                instant(l.edge == core::Edge::Start ? from.start : from.work_end);
            ready = std::max(ready, edge + l.min);
        }
        s.delay[i] =
            static_cast<std::int32_t>(std::max<engine::Tick>(0, instant(at.start) - ready));
    }
    return s;
}

}  // namespace sched::search
