#pragma once
// The search for the plan: of the whole day or from now on, one or several of which simulated days
// choose, breaks searched with it.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sched/advise/replan.hpp"
#include "sched/app/parts/question.hpp"
#include "sched/app/parts/room_of_plan.hpp"

namespace sched::app {

struct FoundPlan {
    compile::RoomProblem room;  // breaks where the plan has them, without the limits that it misses
    compile::CompileOptions how;            // that compiles it with these breaks
    core::Problem problem;                  // the room's with the pins
    core::Solution solution;                // of it; no schedule: there is no plan with these pins
    std::optional<search::Replan> changes;  // against the plan that hangs
    std::vector<std::string> notes;         // limits missed
    std::vector<std::int32_t> turns;        // what goes first when the day differs; see ChancePlan
    std::vector<std::vector<double>> compared;  // orders of work: ChancePlan::compared
    std::string chosen;                         // why this one of several
    struct OnPaper {
        core::Value value;
        std::vector<std::optional<core::SimTime>> ready;  // per order
    };
    std::optional<OnPaper>
        on_paper;       // the best without variation, where simulated days chose another
    std::string stays;  // of a plan that hangs: whether its order of work does
    // Without a plan in the middle of the day: what is in the way though limits may be missed.
    std::optional<search::FirstAnswer> in_the_way;
};

/// @param tell progress of the choice between orders of work, in words; may be empty.
/// @param pinned the room's problem with the pins. @param options budget and seed of the search;
/// the rest of the question says how.
FoundPlan find_plan(const Question& question, const RoomOfPlan& room, const core::Problem& pinned,
                    const search::SearchOptions& options,
                    const std::function<void(const std::string&)>& tell = {});

/// Fills document.again.
void say_changes(const Question& question, const RoomOfPlan& room, const FoundPlan& plan,
                 report::PlanDocument& document);

}  // namespace sched::app
