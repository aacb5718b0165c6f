#pragma once
// A Problem as it stands at Problem::now: what is over has gone, what has begun goes on from there.
// Search, bounds and decoder work on that; `whole` adds the past again.

#include "sched/core/schedule.hpp"

namespace sched::engine {

/// In the present problem every begun operation starts at `now` with what is left of it (work,
/// stages of drying, time it may stand), on the places and with the people it has; what has left
/// its place has no length and no needs and stands at the moment it was complete. Limits among
/// begun operations are dropped, limits from what is over become start windows or lags from that
/// moment, maximum lags that nobody can keep any more are dropped; stores hold what is left in
/// them. Every other operation starts at `now` or later. Operations, modes, jobs and resources keep
/// their numbers. Its own `begun` lists these placements in the order of Problem::begun; the
/// present of the present is itself.
class RemainingProblem {
public:
    /// Without `now` the problem itself. Keeps a reference: the problem must outlive it.
    explicit RemainingProblem(const core::Problem& problem);

    const core::Problem& problem() const { return whole_.now ? remaining_ : whole_; }
    /// Maximum lags that nobody can keep any more: indices into Problem::constraints.
    const std::vector<std::size_t>& missed() const { return missed_; }
    /// A schedule of the whole problem from one of the present.
    core::Schedule whole(core::Schedule present) const;
    /// A schedule of the present problem from one of the whole: `whole` undone, but for the numbers
    /// of batches.
    core::Schedule rest(core::Schedule whole) const;

private:
    const core::Problem& whole_;
    core::Problem remaining_;
    std::vector<std::size_t> missed_;
    std::vector<std::optional<core::SimTime>> work_end_;  // per entry of begun: known by now
    int first_batch_ = 0;                                 // batches of the past have those below
};

/// What had been worked at it by Problem::now, breaks left out. @pre it does not dry.
core::Seconds worked_by_now(const core::Problem& problem, const core::Begun& begun);

/// When the work of begun operations ended or will end, one per entry of Problem::begun: as said,
/// else by the mode; nullopt: what dries is still wet at `now`, or it never ends.
std::vector<std::optional<core::SimTime>> ends_of_work(const core::Problem& problem);

}  // namespace sched::engine
