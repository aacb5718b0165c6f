#pragma once
// A scenario planned as `coatroom plan` does it: compile, search, fill idle time, document.

#include <optional>
#include <string>
#include <vector>

#include "sched/check/room/judge.hpp"
#include "sched/report/document/plan_document.hpp"

namespace planned {

struct Planned {
    bool sound = false;                               // the input compiles
    std::optional<sched::report::PlanDocument> plan;  // none: no plan was found
    std::vector<std::string> broken;                  // what sched/check says of the schedule
};

Planned plan(const model::Scenario& scenario, model::SimTime start, std::int64_t evaluations,
             std::uint64_t seed = 1);

/// All that both judges of the room say of the plan, "rule: words" each.
std::vector<std::string> verdict(const sched::report::PlanDocument& plan,
                                 const model::Scenario& scenario);

}  // namespace planned
