#pragma once
// The room of a question: compiled with days enough for its work, with what has begun on it, and
// whether there is a plan at all.

#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "sched/advise/feasibility.hpp"
#include "sched/advise/replan.hpp"
#include "sched/app/parts/question.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::app {

struct RoomOfPlan {
    compile::RoomProblem room;
    compile::CompileOptions how;  // that it was compiled with
    search::EarlierPlan earlier;  // the plan that hangs, by operations of the room
    std::vector<std::string> notes;
    search::FirstAnswer first;
    model::SimTime looked_until{};  // end of the days that were tried
    bool for_good = false;          // after them every week is like the one before
};

/// As many days as the due dates ask for; where the work does not end in them, more, and nothing
/// counts any longer on a pot that ends in them. Breaks lie where the first plan has them.
/// @returns nullopt when diagnostics got an error.
std::optional<RoomOfPlan> room_of(const Question& question, model::Diagnostics& diagnostics);

/// The room of the question as `how` compiles it, with what has begun on it; not asked for a plan.
std::optional<RoomOfPlan> compiled_again(const Question& question,
                                         const compile::CompileOptions& how,
                                         model::Diagnostics& diagnostics);

/// Why there is no plan, and what to change.
std::string no_plan_words(const RoomOfPlan& room);
/// The same where `first` is what is in the way.
std::string no_plan_words(const RoomOfPlan& room, const search::FirstAnswer& first);

}  // namespace sched::app
