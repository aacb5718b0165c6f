#pragma once
// plan.html: the plan on one self-contained page that works from a USB stick.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// Tables, story and cabinet fill are in the page itself; the timeline is drawn by its script from
/// the embedded document (without problem and schedule). Links to the neighbouring files of
/// write_outputs.
std::string to_page(const PlanDocument& document);

/// The fill of one cabinet over the day as an SVG element: dark = drying, light = held by
/// finished screens, line = places there are.
std::string fill_svg(const FillLine& fill, const RunLine& run);

}  // namespace sched::report
