#pragma once
// A plan that is followed while the day differs from it: what was agreed on, and when it still
// binds. Built once for a plan (Agreements), carried over to the operations of each day (Baseline).

#include <cstdint>
#include <vector>

#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// How long the plan binds. In all of them nothing starts before its planned time unless what it
/// waits for in the plan is over sooner; whoever the plan names has the work if they are there; so
/// with the planned lengths every one of them gives the plan back, second for second.
enum class Recourse {
    Free,   // what is waited for and has not begun at its planned time is waited for no longer
    Order,  // on every place and person work goes in the plan's order, however late
    Times,  // as Free, and nothing starts before its planned time
};

/// In the plan an operation starts the moment that `operation` gives way: by a lag between the two,
/// or by leaving what it had. With `turn`: it goes before on some place or person.
struct Release {
    std::int32_t operation = 0;
    core::Edge edge = core::Edge::End;
    bool turn = false;
    Tick min = 0;
};

/// What a plan says beyond its times. Immutable; shared by threads.
class Agreements {
public:
    /// @param plan complete, for the first operations of `problem`; what has no placement in it is
    /// not planned.
    Agreements(const CompiledProblem& problem, const core::Schedule& plan);

    const core::Schedule& plan() const { return plan_; }
    std::size_t planned() const { return plan_.placements.size(); }
    /// Who lets operation i begin.
    const std::vector<Release>& releases(std::size_t i) const { return releases_[i]; }
    /// Operations on resource r, as they start.
    const std::vector<std::int32_t>& turns(std::size_t r) const { return turns_[r]; }
    /// Numbers for the planned operations by start; of one batch side by side, the longest first.
    const std::vector<std::int32_t>& rank() const { return rank_; }

private:
    void find_releases(const CompiledProblem& problem, const FlatSchedule& flat);

    core::Schedule plan_;
    std::vector<std::vector<Release>> releases_;
    std::vector<std::vector<std::int32_t>> turns_;
    std::vector<std::int32_t> rank_;
};

/// The same for the operations of one day. Reused from day to day.
struct Baseline {
    Recourse recourse = Recourse::Free;
    bool known = true;                 // false: something is not as planned from the start on
    std::vector<Tick> start;           // per operation; -never: not planned
    std::vector<Tick> work_end, end;   // per operation
    std::vector<std::int32_t> order;   // planned operations as they start
    std::vector<std::int16_t> mode;    // per operation
    std::vector<std::int32_t> chosen;  // as FlatSchedule::chosen; -1: nothing said
    std::vector<std::int32_t> stores;  // as FlatSchedule::stores; -1: nothing said
    std::vector<std::int32_t> batch;   // per operation: its number in the plan; -1: none
    std::vector<Range> release_range;  // per operation, into releases
    std::vector<Release> releases;
    std::vector<Range> follower_range;    // per operation, into followers
    std::vector<std::int32_t> followers;  // blocks that it releases
    std::vector<Tick> ahead;  // per block: from then on somebody counts on it who has begun; never
    std::vector<Range> turn_range;    // per resource, into turns
    std::vector<std::int32_t> turns;  // operations as they start

    /// @param place per planned operation of the agreements: its index in `day`; -1: not there.
    void set(const CompiledProblem& day, const Agreements& agreements,
             const std::vector<std::int32_t>& place, Recourse how);

private:
    void find_ahead(const CompiledProblem& day);

    std::vector<std::int32_t> next_;  // scratch
};

}  // namespace sched::engine
