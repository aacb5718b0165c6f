#pragma once
// A clock that runs while somebody is in the room and nearly stands still while nobody is: lateness
// measured on it is lateness in work, and a night between two hours is not one.

#include <vector>

#include "model/room/room.hpp"

namespace sched::study {

/// Strictly increasing and piecewise linear, so that it can be read backwards and keeps every
/// order.
class WorkClock {
public:
    /// The ordinary clock.
    WorkClock() = default;

    /// Runs at full speed during the shifts of anybody (overtime included, absences not), else at a
    /// fiftieth of it: what dries at night is not lost, but it is no work. Nobody with a shift: the
    /// ordinary clock.
    static WorkClock of(const model::Room& room);

    /// Seconds on this clock since a Monday long ago. O(log n).
    double reading(model::SimTime t) const;
    /// The time at which it shows `reading`, rounded up to whole seconds. at(reading(t)) == t.
    model::SimTime at(double reading) const;

    friend bool operator==(const WorkClock&, const WorkClock&) = default;

private:
    struct Knot {
        double time = 0.0;     // s from Monday 00:00
        double reading = 0.0;  // shown then
        friend bool operator==(const Knot&, const Knot&) = default;
    };
    std::vector<Knot> week_;  // from 0 to a week, both included; empty: the ordinary clock
};

}  // namespace sched::study
