#pragma once
// When people have their breaks: every break of every shift, apart from each other, or the reason
// why one cannot be had. The reader warns by it, the compiler plans by it.

#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include "model/room/room.hpp"

namespace model {

/// A break of one day. It may begin in [earliest, latest]; `at` is where it lies at first, apart
/// from the person's others.
struct PlacedBreak {
    std::size_t pause = 0;  // index into Person::breaks
    SimTime earliest{};
    SimTime latest{};
    Seconds length{0};
    SimTime at{};
    friend bool operator==(const PlacedBreak&, const PlacedBreak&) = default;
};

struct MissedBreak {
    std::size_t pause = 0;
    SimTime day{};  // midnight of the date whose time of day it names
    SimTime shift_from{};
    SimTime shift_to{};
    /// The first of the breaks that leave no room for it; none: it would end after the shift, or
    /// begins before it.
    std::optional<std::size_t> because_of;
    friend bool operator==(const MissedBreak&, const MissedBreak&) = default;
};

struct BreakPlan {
    std::vector<PlacedBreak> placed;  // by time
    std::vector<MissedBreak> missed;
};

/// Floating breaks are staggered, so that the room is not empty: person k of n begins his
/// at k / (n - 1) of its span.
struct Stagger {
    std::size_t k = 0;
    std::size_t n = 1;
};

/// Time that a person is there by his shifts, overtime left out, of shifts that begin on a date in
/// [first, end): sorted, shifts that touch are one.
std::vector<std::pair<SimTime, SimTime>> attendance(const Person& person, SimTime first,
                                                    SimTime end);

/// Breaks within that time. A break is had once for each date, in the first shift it fits into; one
/// whose window touches no shift of the date is not for that date.
/// @pre first and end are midnights.
BreakPlan place_breaks(const Person& person, SimTime first, SimTime end, Stagger stagger = {});

}  // namespace model
