#pragma once
// A day that is under way: what the posted plan says has happened by now, and what state.yaml
// says, put on whatever room is compiled of that day.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/room/state.hpp"
#include "sched/advise/replan.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/schedule.hpp"

namespace sched::study {

struct BegunDay {
    core::SimTime now{};
    model::RoomState state;  // has the last word
    struct PostedPlan {
        core::Problem problem;
        core::Schedule schedule;
        // ChancePlan::turns; empty: work goes by planned start.
        std::vector<std::int32_t> turns = {};
        // Pots that it mixes or has mixed, by emulsion; none: not known.
        std::optional<std::map<std::string, int>> mixes = {};
    };
    std::optional<PostedPlan> posted;
    std::vector<compile::FrameOfScreen> frames;  // of the screens that have begun
};

/// What the posted plan says of each operation of the room, by name; breaks are put where it has
/// them. Empty without a posted plan.
search::EarlierPlan earlier_of(const BegunDay& day, compile::RoomProblem& room);

/// The order of work that is posted, s, per operation of the problem: what the posted plan gave no
/// turn stands at its start in `schedule`. Empty: it has no turns.
std::vector<double> posted_turns(const BegunDay::PostedPlan& posted, const core::Problem& problem,
                                 const core::Schedule& schedule);

/// Sets now, begun and calendars of a room compiled of the day's scenario, without spare ways; it
/// may have further orders after those of the posted plan. @param notes what was told, in the
/// room's words. @returns false when diagnostics got an error.
bool put_begun(const BegunDay& day, const search::EarlierPlan& earlier, compile::RoomProblem& room,
               std::vector<std::string>& notes, model::Diagnostics& diagnostics);

/// A maximum lag of a screen under way that cannot be kept any more, in the room's words.
std::string missed_words(const compile::RoomProblem& room, std::size_t constraint);

/// Screens that stay in a place while it is out of work, a sentence for each place.
std::vector<std::string> stood_words(const compile::RoomProblem& room,
                                     const std::vector<search::Stood>& stood);

/// A maximum lag that was let go, by names, so that it is found again in another compilation.
struct RelaxedLimit {
    std::string from, to;
    core::Edge edge = core::Edge::End;
};
RelaxedLimit limit_of(const core::Problem& problem, std::size_t constraint);
/// Takes the maxima out.
void relaxed(const std::vector<RelaxedLimit>& limits, core::Problem& problem);

/// The same day with a longer horizon and spare ways, behind the operations of `planned`, takes
/// over its present: now, begun, who is there up to the end of its horizon, and the limits that it
/// does not have any more. Nothing without `now`.
void take_over_remaining(const core::Problem& planned, core::Problem& longer);

}  // namespace sched::study
