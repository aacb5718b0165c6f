#pragma once
// Planning again while the day runs: what has begun stays, what is close stays where it can, and
// what moves is counted and listed.

#include <optional>
#include <string>
#include <vector>

#include "sched/core/solution.hpp"
#include "sched/search/options.hpp"

namespace sched::search {

/// The plan that hangs on the wall, by operation of the problem to be planned now; nullopt: new
/// since then.
using EarlierPlan = std::vector<std::optional<core::Placement>>;

/// Every placement of `schedule`, for the same problem.
EarlierPlan earlier_plan(const core::Schedule& schedule);

/// The same across two compilations of a room (an order came in, one was dropped): operations,
/// resources and stores are found by their names, the k-th of a name with the k-th. A placement
/// with a resource that is gone, or in a mode that asks for other things, counts as new.
EarlierPlan match_by_name(const core::Problem& old_problem, const core::Schedule& schedule,
                          const core::Problem& problem);

struct ReplanOptions {
    core::SimTime now{};
    core::Seconds frozen{0};      // planned starts in [now, now + frozen) stay where they can
    core::Seconds tolerance{59};  // a start that moves by no more is no change
};

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
    int begun = 0;                // operations that had begun
    int frozen = 0;               // that had not, and were held by the frozen window
    int let_go = 0;               // that the frozen window could not hold
    core::Problem fixed;          // the problem as it was searched, with what stays
};

/// Begun: planned start before `now`; keeps start, mode, resources and stores. Everything else
/// starts at or after `now`. If no schedule holds the whole frozen window, its latest starts are
/// let go, half of them at a time. Changes count in the search after tardiness, late orders and
/// overtime and before finish, holding and flow time; Solution::value is of the problem's own
/// criteria. If the search finds nothing, the earlier plan comes back as it is,
/// if it is complete: it is right if the problem is still the one it was made for. Status Unknown:
/// nothing found.
/// @pre earlier has one entry per operation. Plans with Problem::horizon_start as it was, so that
/// values compare with the earlier plan's.
Replan replan(const core::Problem& problem, const EarlierPlan& earlier, const ReplanOptions& how,
              const SearchOptions& options);

/// What differs by more than the tolerance; operations without an earlier placement do not.
std::vector<Change> changes_between(const EarlierPlan& earlier, const core::Schedule& schedule,
                                    core::Seconds tolerance);

}  // namespace sched::search
