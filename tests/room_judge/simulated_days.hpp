#pragma once
// Simulated days of a planned room, and what every one of them has to keep, whatever happens.

#include <cstdint>
#include <string>
#include <vector>

#include "tests/room_judge/planned.hpp"

namespace planned {

struct SimulatedDays {
    int days = 0;
    int unfinished = 0;               // within the plan's days and three more
    int improvised = 0;               // finished, but the plan could not be kept to
    std::int64_t screens = 0;         // that became ready on finished days
    std::int64_t stays = 0;           // how long they were inside, all together, s
    std::vector<std::string> broken;  // "rule: words", one line a finding
};

/// Days of a plan of the whole day. With nothing left to chance each policy that follows the plan
/// gives it back; else, on `days` days that differ in lengths, remakes, failures, absences, films
/// and rush orders: limits, capacities and calendars of that day are kept (the first checker, on
/// the day's own problem), no screen is lost or ready twice, each coat takes once, Little's law
/// holds to the second (day_figures.hpp), and the quick way to simulate a day gives what the slow
/// one gives. @pre planned.plan, not from the middle of a day.
SimulatedDays simulated_days(const model::Scenario& scenario, const Planned& planned, int days,
                             std::uint64_t seed);

}  // namespace planned
