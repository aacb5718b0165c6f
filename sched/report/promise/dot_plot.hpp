#pragma once
// Times as stacked dots on an axis that leaves out the hours in which nothing happens.

#include <optional>
#include <string>
#include <vector>

#include "model/base/time.hpp"

namespace sched::report {

struct DotPlot {
    std::vector<std::optional<model::SimTime>> dots;  // ascending, "not ended" last
    std::optional<model::SimTime> line;               // what is promised: dots after it are marked
    std::optional<model::SimTime> wanted;             // a second line
};

/// An SVG element without colours of its own; classes: dot, after, axis, tick, line, wanted, gap.
/// Stacked by Wilkinson's rule (The American Statistician 53(3), 1999): the leftmost free dot opens
/// a stack and takes all within one dot's width. @pre dots not empty.
std::string dot_plot_svg(const DotPlot& plot);

}  // namespace sched::report
