#pragma once
// Planning again while the day runs: what has begun stays, what is close stays where it can, and
// what moves is counted and listed.

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sched/core/solution.hpp"
#include "sched/engine/sequence.hpp"
#include "sched/search/base/options.hpp"

namespace sched::search {

/// The posted plan on the wall, by operation of the problem to be planned now; nullopt: new
/// since then.
using EarlierPlan = std::vector<std::optional<core::Placement>>;

/// Every placement of `schedule`, for the same problem.
EarlierPlan earlier_plan(const core::Schedule& schedule);

/// The same across two compilations of a room (an order came in, one was dropped): operations,
/// resources and stores are found by their names, the k-th of a name with the k-th. A placement
/// with a resource that is gone, or in a mode that asks for other things, counts as new.
EarlierPlan match_by_name(const core::Problem& old_problem, const core::Schedule& schedule,
                          const core::Problem& problem);

/// What the earlier plan says has begun before `now`, as facts for Problem::begun. What it ends by
/// then has left its place, unless something that has not begun must take over from it at once.
std::vector<core::Begun> begun_by(const core::Problem& problem, const EarlierPlan& earlier,
                                  core::SimTime now);

struct ReplanOptions {
    core::Seconds frozen{0};      // planned starts in [now, now + frozen) stay where they can
    core::Seconds tolerance{59};  // a start that moves by no more is no change
    /// Where in the objective the number of changes counts: before this part.
    std::size_t place = 0;
    /// The earlier plan passes sched/check as it is: then it is one of the plans to choose from.
    bool still_right = false;
    /// If set: more to keep small, before everything else. Pure; called from several threads.
    std::function<std::int64_t(const engine::FlatSchedule&)> excess;
};
/// The usual place of changes: after tardiness, late orders and overtime, before the rest; never
/// first.
std::size_t place_of_changes(const core::Problem& problem);

/// What is different from the plan on the wall.
struct Change {
    core::OperationId operation;
    core::SimTime old_start, new_start;
    std::vector<core::ResourceId> old_chosen, new_chosen;  // one per need of the mode then / now
    friend bool operator==(const Change&, const Change&) = default;
};

struct Replan {
    core::Solution solution;      // a schedule of the given problem
    std::vector<Change> changes;  // in the order of the new starts
    int changed = 0;              // operations that differ from the earlier plan; not those begun
    int frozen = 0;               // that had not, and were held by the frozen window
    int relaxed = 0;              // that the frozen window could not hold
    std::vector<core::OperationId> held;  // the frozen ones, by their starts
};

/// The problem in which these start when, where and with whom the earlier plan says.
core::Problem holding(const core::Problem& problem, const EarlierPlan& earlier,
                      std::span<const core::OperationId> held);
/// Fills `changes` and `changed` from the schedule of the solution. @pre it has one.
void list_changes(const core::Problem& problem, const EarlierPlan& earlier, core::Seconds tolerance,
                  Replan& replan);

/// Plans from Problem::now on; what has begun stays as Problem::begun says. If no schedule holds
/// the whole frozen window, or none that costs the first aim little more than without it (lateness:
/// as long as the window, weighted as the heaviest order; no further late order), its latest starts
/// are let go, half of them at a time; what cannot be held because its place or person is not there
/// is let go at once. Solution::value is of the problem's own criteria. Status Unknown: nothing
/// found.
/// @pre problem.now; earlier has one entry per operation.
Replan replan(const core::Problem& problem, const EarlierPlan& earlier, const ReplanOptions& how,
              const SearchOptions& options);

/// Where nobody can take a screen out of a place before it closes, it stays in there.
struct Stood {
    core::JobId job;
    core::ResourceId place;
    core::Window closing;  // from the first to the last moment out of work
};
/// Opens the next `closings` hours out of work of every place with a screen under way on it; no
/// other screen goes there before they are over, and nobody works there. @pre problem.now.
std::vector<Stood> stand_through(core::Problem& problem, int closings);

/// When no plan keeps every limit of the screens under way (somebody has gone, a step took too
/// long): their maximum lags may be exceeded, by as little as is found. Those that run already, and
/// only where that is not enough those of steps that have not begun.
struct Relaxed {
    /// The given one without the maxima that the plan exceeds; what stands through a closing has
    /// its place open, and everything else is kept away from there (start windows at the end of
    /// the constraints).
    core::Problem problem;
    std::vector<std::size_t> missed;  // those maxima, as indices of constraints
    int closings = 0;                 // in a row that screens stand through
    std::vector<Stood> stood;
    Replan replan;  // a schedule of `problem`
};
/// `problem` without any of the limits that may be exceeded then. @pre problem.now.
core::Problem without_limits_under_way(const core::Problem& problem,
                                       const std::function<bool()>& stop = {});
Relaxed let_limits_go(const core::Problem& problem, const EarlierPlan& earlier,
                      const ReplanOptions& how, const SearchOptions& options);

/// What differs by more than the tolerance in start, or in place or people whatever the order of
/// their names; operations without an earlier placement do not.
std::vector<Change> changes_between(const EarlierPlan& earlier, const core::Schedule& schedule,
                                    core::Seconds tolerance);

}  // namespace sched::search
