#pragma once
// Clocks of devices that go ahead. A mark says when it happened by its device's clock and when it
// was entered by the board's; whoever is entered before it happened betrays a clock that is ahead,
// or was told beforehand.

#include <cstddef>
#include <string>
#include <vector>

#include "model/room/past_mark.hpp"

namespace sched::tune {

/// A device whose clock was ahead.
struct ClockAhead {
    std::string device;
    int days = 0;            // on which it was
    model::Seconds most{0};  // on one of them
    friend bool operator==(const ClockAhead&, const ClockAhead&) = default;
};

struct Clocks {
    std::size_t ahead = 0;            // marks of steps that were entered before they happened
    std::vector<ClockAhead> devices;  // by name; their marks were set back
};

/// The marks of a device are set back, day by day, by what more than half of them (three at least)
/// lie ahead of their entering, the median; none lies a quarter of an hour ahead, which is as much
/// as the board lets in. What lies ahead otherwise stands as it was said.
/// @param marks by time. @returns them by time.
std::vector<model::PastMark> set_clocks_right(std::vector<model::PastMark> marks, Clocks& clocks);

}  // namespace sched::tune
