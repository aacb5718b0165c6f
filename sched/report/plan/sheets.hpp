#pragma once
// sheets.html: the run on paper, one sheet per person and per station, A4 or Letter.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// First the tags to write on the frames, then a sheet for every person and every station that has
/// work. Rows to tick, with times, tag, what to do, and the cautions of the steps on that sheet.
std::string to_sheets(const PlanDocument& document);

}  // namespace sched::report
