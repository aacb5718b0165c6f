#pragma once
// The plan document as JSON text, and back.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// UTF-8, a line feed at the end, rows one a line; equal documents give equal bytes.
std::string plan_to_json(const PlanDocument& document);

/// The document without problem and schedule: what a page needs to draw itself.
std::string plan_to_json_for_page(const PlanDocument& document);

/// Members of the text, read as `document`, that no plan document has, with their path; the reader
/// passes over them. Empty also where the text is not JSON.
std::vector<std::string> unknown_members(std::string_view json, const PlanDocument& document);

/// Any input is safe (see problem_json.hpp). Indices of operations are checked; unknown members are
/// passed over, a missing one is an error, a `format` above plan_format is refused.
std::optional<PlanDocument> plan_from_json(std::string_view json, model::Diagnostics& diagnostics,
                                           std::string_view file = "plan.json");

}  // namespace sched::report
