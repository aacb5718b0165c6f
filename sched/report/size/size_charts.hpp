#pragma once
// Charts of the size page, one SVG element each; what they show stands in their label in words.

#include <string>

#include "sched/size/size.hpp"

namespace sched::report {

/// Share of orders on time over volume: the room's curve with its band, today's behind it, and the
/// share with which a room copes as a dashed line.
std::string on_time_svg(const study::SizeResult& result, std::size_t option);

/// Paired differences to today at the volume of the decision, a dot with its interval per room.
/// Full dots: the interval leaves out zero.
std::string difference_svg(const study::SizeResult& result,
                           study::SizeFigure study::SizeCell::*which, const std::string& what,
                           bool less_is_better);

/// What each change costs a year (its purchases in equal yearly parts) against what it brings, with
/// the interval; on the diagonal both are equal. Full dots: the interval lies above it or below it.
std::string cost_benefit_svg(const study::SizeResult& result);

}  // namespace sched::report
