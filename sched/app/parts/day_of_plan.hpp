#pragma once
// On which day a run begins: the one place that decides it, for every command, and the one place
// that reads the clock for it.

#include <optional>
#include <string>

#include "model/base/time.hpp"
#include "model/read/scenario.hpp"
#include "model/room/order.hpp"

namespace sched::app {

using model::SimTime;

/// Local time of the machine, to the second.
SimTime clock_of_machine();

/// What the command line says of it; all may be empty.
struct DayWords {
    const char* command = "plan";
    std::string from = {};     // local date and time: nothing starts before
    std::string date = {};     // 2026-11-26
    std::string now = {};      // 10:40, or with its date
    bool typical_day = false;  // any day like this one would do (sizing, weeks)
    bool many_days = false;    // one run of days without end: it begins at midnight
};

/// --from; else midnight of --date; else of the day that the scenario has; else, of a typical day,
/// of its first due date; else of the date in --now; else, for --now with a time alone, today; else
/// of the next working day. Of one whole day not midnight, but where its work
/// begins after a night shift of the day before (model::run_begin).
/// @param clock local time of the machine.
/// @returns nullopt, with words on the error stream, for what is no date or time.
std::optional<model::SimTime> day_of_plan(const DayWords& words, const model::Scenario& scenario,
                                          model::SimTime clock);
std::optional<model::SimTime> day_of_plan(const DayWords& words, const model::Scenario& scenario);

/// What dates without year or time in the scenario's files are read from: the same day, as far as
/// it is known before they are read. What is no date or time is left to day_of_plan to complain of.
model::RunDay run_day(const DayWords& words);

}  // namespace sched::app
