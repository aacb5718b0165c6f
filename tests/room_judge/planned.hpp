#pragma once
// A scenario planned as `coatroom plan` does it, and read by both judges: of the whole day, and
// again in the middle of it.

#include <optional>
#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/app/parts/question.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/schedule.hpp"
#include "sched/report/document/plan_document.hpp"

namespace planned {

struct Planned {
    bool sound = false;  // the input can be planned at all
    std::optional<sched::report::PlanDocument> plan;
    std::vector<std::string> broken;  // what the first judge says, of the problem alone
    std::string why_none;             // without a plan, what the program says
    // With a plan: the room, how it is compiled, and the schedule, all without idle time's work.
    sched::compile::RoomProblem room;
    sched::compile::CompileOptions how;
    sched::core::Schedule schedule;
};

Planned plan(const sched::app::Question& question);

/// The whole day from `start`. @param evaluations budget of the search.
Planned plan(const model::Scenario& scenario, model::SimTime start, std::int64_t evaluations,
             std::uint64_t seed = 1);

/// What the second judge says of a plan, in both its parts, one line a finding.
std::vector<std::string> verdict(const sched::report::PlanDocument& plan,
                                 const model::Scenario& scenario);

}  // namespace planned
