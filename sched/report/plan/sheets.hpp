#pragma once
// The run on paper, A4 or Letter: sheets.html for people, station-sheets.html for places.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// First the tags to write on the frames and the cautions, then a sheet for everybody who has work.
/// Rows to tick, breaks among them, with turn, times, what to do on which screens, by when a limit
/// wants the next step, where from and where to, with whom. Every page names its sheet and says
/// which of how many it is.
std::string to_sheets(const PlanDocument& document);

/// A sheet for every station that has work.
std::string to_station_sheets(const PlanDocument& document);

}  // namespace sched::report
