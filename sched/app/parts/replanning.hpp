#pragma once
// Planning from the middle of the day: --now, --earlier, --frozen, --state.

#include <optional>
#include <string>
#include <vector>

#include "sched/advise/replan.hpp"
#include "sched/app/parts/chances.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// What the command line says of it, read and checked.
struct Midday {
    std::optional<model::SimTime> now;  // absent: a plan of the whole day
    model::Seconds frozen{0};
    std::optional<report::PlanDocument> posted;  // of --earlier
    search::EarlierPlan earlier;                 // the same by operations of the room
    std::vector<std::string> notes;
    std::optional<search::Replan> replan;  // filled by plan_again
};

/// Reads --frozen and --earlier and refuses what makes no sense together. @returns the exit status
/// if something is wrong (said on the error stream).
std::optional<int> read_midday(const PlanArgs& args, Midday& midday);
/// Where the posted plan begins.
std::optional<model::SimTime> start_of(const Midday& midday);

/// A time of day counts from `start`'s day. @returns false after saying what is wrong.
bool set_now(const PlanArgs& args, model::SimTime start, Midday& midday);

/// Puts what has begun, and what state.yaml says, on the room's problem. @returns the exit status
/// if something is wrong.
std::optional<int> begin_midday(const PlanArgs& args, Midday& midday, compile::RoomProblem& room,
                                model::Diagnostics& diagnostics);

/// The plan from now on; with an earlier plan its changes count. @param problem the room's with
/// pins.
core::Solution plan_again(const compile::RoomProblem& room, const core::Problem& problem,
                          const search::SearchOptions& options, Midday& midday);

/// Several of them, args.robust, each by another seed, and of these the one that stands the
/// simulated days of the rest best. @param words what was chosen and why.
core::Solution plan_again_robust(const ChanceOfPlan& disturbances, const core::Problem& problem,
                                 Midday& midday, std::string& words);

/// When plan_again or the search found nothing: limits of screens under way may be exceeded, by as
/// little as is found, and are named. They are taken out of room and problem.
core::Solution plan_with_limits_missed(compile::RoomProblem& room, core::Problem& problem,
                                       const search::SearchOptions& options, Midday& midday);

/// Fills document.again.
void say_again(const Midday& midday, const core::Problem& problem, report::PlanDocument& document);

}  // namespace sched::app
