#pragma once
// Whether screens fit on a blanket together: exact for the few that an exposure unit takes.

#include <span>

namespace model::physics {

struct Rectangle {
    int width = 0;   // [mm]
    int height = 0;  // [mm]
};

inline constexpr int most_placed = 8;

/// Each rectangle turned by 0 or 90 degrees, sides parallel to the area's, `gap` between neighbours
/// (not to the border). Exact by branch and bound over left-bottom packings. @pre at most 8
/// rectangles.
bool fits(std::span<const Rectangle> rectangles, Rectangle area, int gap);

}  // namespace model::physics
