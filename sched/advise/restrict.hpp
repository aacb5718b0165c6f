#pragma once
// Narrowing a Problem without renumbering anything: a schedule of the narrowed problem is one of
// the problem itself.

#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::search {

/// Leaves every need of an operation only the resources that `allowed` says (a flag per resource;
/// those beyond its end are allowed). A mode with a need that has none left can no longer be taken.
/// @returns false if no mode is left.
bool keep_resources(core::Problem& problem, core::OperationId operation,
                    const std::vector<char>& allowed);

/// Makes every mode but one impossible, and there every choice but the given one.
void fix_choice(core::Problem& problem, core::OperationId operation, const core::Placement& to);

/// A resource that is never there; what needs it cannot be done. Added on first use.
core::ResourceId nobody(core::Problem& problem);

}  // namespace sched::search
