#pragma once
// A schedule that is there before any search: the screens enter the room a few at a time, late if
// it must be, so that nobody stands in anybody's way.

#include <functional>
#include <optional>

#include "sched/core/schedule.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::search {

struct CarefulSchedule {
    std::optional<core::Schedule> schedule;
    engine::Failure failure;  // of one screen at a time; None if there is a schedule
};

/// Jobs begin in order of their due dates, and no more than 8 are on their way at once; where that
/// finds no schedule, 3, then one after the other. Alone in the room a job waits for nothing but
/// calendars, so if the horizon is long enough it fails only where its own limits, places and
/// people do not go together (feasibility.hpp in sched/advise says which). @param problem valid;
/// with `now`: what remains (engine/remaining_problem.hpp). @param stop may be empty; true: give
/// up.
CarefulSchedule careful_schedule(const core::Problem& problem, const std::function<bool()>& stop);

}  // namespace sched::search
