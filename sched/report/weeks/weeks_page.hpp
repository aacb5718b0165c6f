#pragma once
// What coatroom weeks gives as a page: the answer, the turnaround over the weeks with its
// intervals, how busy stations and people are.

#include <string>

#include "sched/simulate/long_run.hpp"

namespace sched::report {

/// @param room its name.  @param invented demo data say so.
std::string weeks_page(const study::LongRun& run, const std::string& room, bool invented);

/// The chart alone, one SVG element: a bar for the middle 80 % of the orders of each stretch, a dot
/// for their mean, the long-run mean as a line with its 95 % interval as a band. Empty without
/// stretches.
std::string weeks_svg(const study::LongRun& run);

}  // namespace sched::report
