#pragma once
// Search for problems that only the decoder can build: shared drying, holding, stores, batches,
// people with shifts. Rules first, then iterated local search over priority lists.

#include <functional>
#include <vector>

#include "sched/core/solution.hpp"
#include "sched/engine/sequence.hpp"
#include "sched/search/base/options.hpp"

namespace sched::search {

/// Any Problem. One evaluation = one decoded sequence. Each start begins from the dispatching rules
/// (engine/rules.hpp) and goes on as RoomStart says; starts differ by their draws. Every schedule
/// it keeps was decoded, so it keeps every rule by construction. `bound` is lower_bounds() of the
/// problem; Optimal only if the value meets it in every criterion. The result depends on seed and
/// budget in evaluations alone, whatever the threads.
core::Solution search_room(const core::Problem& problem, const SearchOptions& options);

/// What a search may be told besides: where to begin, and a count of its own to keep small.
struct RoomGuide {
    std::vector<engine::Sequence> first;  // decoded before the rules
    bool rules = true;                    // also begin with the rules
    /// A schedule of the problem that is there before any other; null: none. Not looked at where
    /// the problem has begun.
    const core::Schedule* known = nullptr;
    /// If set: one more number to minimise, put before part `place` of the value while searching.
    /// Pure; called from several threads.
    std::function<std::int64_t(const engine::FlatSchedule& schedule)> count;
    std::size_t place = 0;
    bool bounds =
        true;  // false: the solution's bound is what no value goes below; saves their time
};
core::Solution search_room(const core::Problem& problem, const SearchOptions& options,
                           const RoomGuide& guide);

/// The sequence that leads back to `schedule`, or near it: blocks in the order in which they begin,
/// its modes and choices, and (if `keep_waits`) no block sooner than it stands there.
engine::Sequence sequence_of(const engine::CompiledProblem& problem, const core::Schedule& schedule,
                             bool keep_waits);

/// Who shares a batch in `schedule`, as Sequence::batch mates; empty: nobody does.
std::vector<std::int32_t> waiting_batches_of(const engine::CompiledProblem& problem,
                                             const core::Schedule& schedule);

}  // namespace sched::search
