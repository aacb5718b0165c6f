#pragma once
// What a schedule is worth, from the definitions of Criterion alone.

#include <optional>
#include <string>
#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::core {

/// Completion per order in Problem order; nullopt for an order without operations.
std::vector<std::optional<SimTime>> completions(const Problem& problem, const Schedule& schedule);

/// end, or work_end where the operation may stretch without limit (it is done when its work is).
SimTime completion(const Operation& operation, const Placement& placement);

/// @pre one placement per operation.
Value evaluate(const Problem& problem, const Schedule& schedule);

/// "weighted tardiness", "late orders", ...: words for people, one per criterion.
std::string words(Criterion criterion);

}  // namespace sched::core
