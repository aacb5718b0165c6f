#pragma once
// The independent judge: is this schedule an answer to this problem? Written from the definitions
// in sched/core/problem.hpp alone; it shares no code with whoever made the schedule.

#include <optional>
#include <string>
#include <vector>

#include "sched/core/problem.hpp"
#include "sched/core/schedule.hpp"

namespace sched::check {

/// Which statement of problem.hpp is broken.
enum class Rule {
    Count,        // one placement per operation
    Mode,         // the mode exists
    Choice,       // one resource per need, out of any_of; one store per Take, out of its any_of
    Distinct,     // two needs of one mode choose different resources
    Times,        // start <= work_end <= end
    WorkLength,   // the work lasts exactly as long as its mode says
    Drying,       // ... or as long as the drying clock says
    Stretch,      // end - work_end within max_stretch
    Capacity,     // no resource gives more than it has
    Calendar,     // nobody works outside the calendar
    Pause,        // everyone's time off lies whole inside its window, and nobody works in it
    TimeLag,      // minimum and maximum lags
    StartWindow,  // not before, not after
    Release,      // the order's release
    Deadline,     // the order's deadline
    SameMode,
    SameResource,
    Walk,
    Store,    // levels never below 0, use within the store's time
    Batch,    // members together, same family, not too many, inside the area
    Horizon,  // between horizon_start and horizon_end
    Begun,    // what has begun stays as it was, the rest starts at or after `now`
};

/// "capacity", "maximum or minimum lag", ...: words for people, one per rule.
std::string words(Rule rule);

struct Violation {
    Rule rule = Rule::Count;
    std::optional<core::OperationId> operation;
    std::optional<core::OperationId> other;
    std::optional<core::ResourceId> resource;
    std::optional<core::SimTime> at;
    std::string words;  // one sentence with the names, times and amounts concerned
};

/// @returns everything that is wrong, in the order of the rules above; empty if the schedule is
/// right. Never throws for a bad schedule: an operation whose mode or resources cannot be looked up
/// is reported and left out of the rules that need them. @pre validate(problem) is empty. The end
/// of drying may differ by 1 s from the checker's own integration, for rounding.
std::vector<Violation> check(const core::Problem& problem, const core::Schedule& schedule);

}  // namespace sched::check
