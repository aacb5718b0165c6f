#pragma once
// Problem and Schedule as compact JSON, and back. Times are whole seconds after the problem's
// "start"; ids are positions counted from 0. docs/plan-document.md lists the arrays.

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string_view>
#include <utility>

#include "model/base/diagnostic.hpp"
#include "sched/core/schedule.hpp"

namespace sched::report {

nlohmann::ordered_json problem_to_json(const core::Problem& problem);
/// Relative to problem.horizon_start.
nlohmann::ordered_json schedule_to_json(const core::Problem& problem,
                                        const core::Schedule& schedule);

/// The problem and schedule embedded in the text of a plan file. Any input is safe: what cannot be
/// read (syntax, missing or ill-typed members, numbers out of range, ids of nothing, a schedule
/// that does not fit the problem's shape) becomes diagnostics with the JSON path in the message,
/// place `file`, and nullopt. Whether the schedule keeps the rules is for sched/check to say.
std::optional<std::pair<core::Problem, core::Schedule>> problem_of(
    std::string_view json, model::Diagnostics& diagnostics, std::string_view file = "plan.json");

}  // namespace sched::report
