#pragma once
// coatroom dry and dose for machines: the same results as their texts, as JSON. Times in seconds,
// the unit of every other number in its key.

#include <string>

#include "sched/report/physics/dose_report.hpp"
#include "sched/report/physics/dry_report.hpp"

namespace sched::report {

std::string dry_json(const DryReport& report);
std::string dry_fit_json(const DryFit& fit);
std::string dose_json(const DoseReport& report);
std::string wedge_json(const WedgeReport& report);

}  // namespace sched::report
