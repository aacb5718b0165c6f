#pragma once
// How instants are read by people: on every page, sheet, text and board a clock shows whole
// minutes. One rule, so that differences of what is read agree with what is said about them.

#include "model/base/time.hpp"

namespace model {

/// The whole minute that is shown for an instant: rounded up, so that nothing is said to be ready
/// before it is. Order stays, equal instants stay equal; a length between two instants that are
/// both shown is said as the difference of what is shown.
constexpr SimTime shown_minute(SimTime t) {
    const auto s = t.time_since_epoch().count();
    const auto past = ((s % 60) + 60) % 60;
    return past == 0 ? t : t + Seconds{60 - past};
}

/// Between two shown instants, whole minutes.
constexpr Seconds shown_between(SimTime from, SimTime to) {
    return shown_minute(to) - shown_minute(from);
}

}  // namespace model
