#pragma once
// Do these rectangles lie on that area side by side? Exact, for the few of one batch.

#include <vector>

namespace sched::check {

struct Rectangle {
    int width_mm = 0;
    int height_mm = 0;
};

enum class Fit { Yes, No, Unknown };  // Unknown: more than `max_nodes` steps

/// @returns whether all rectangles, each turned by 0 or 90 degrees, fit into width x height with
/// `gap` between any two of them (along x or along y) and none to the border. Branch and bound over
/// corner placements: every packing can be pushed left and down, and then be built up so that each
/// rectangle stands in a corner of the staircase of those before it (Martello, Pisinger & Vigo, The
/// three-dimensional bin packing problem, Operations Research 48, 2000, section 4: the staircase of
/// two dimensions; the order exists in every 2-D packing, as the sequence pairs of Murata et al.
/// 1996 show).
Fit fits(const std::vector<Rectangle>& rectangles, int width_mm, int height_mm, int gap_mm,
         long long max_nodes = 5'000'000);

}  // namespace sched::check
