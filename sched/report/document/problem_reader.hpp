#pragma once
// The reading half of problem_json, over a parsed document. For .cpp files of this folder.

#include <optional>
#include <string>
#include <utility>

#include "sched/core/schedule.hpp"
#include "sched/report/document/json_reader.hpp"

namespace sched::report {

std::string criterion_key(core::Criterion criterion);  // "weighted-tardiness"
std::string edge_key(core::Edge edge);                 // "work-end"

/// From the members "problem" and "schedule" of a parsed plan document.
std::optional<std::pair<core::Problem, core::Schedule>> problem_of(const Json& document,
                                                                   JsonReader& reader);

}  // namespace sched::report
