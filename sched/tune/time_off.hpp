#pragma once
// When a person was not at work: what is taken out of the time between start and done.

#include <map>
#include <string>
#include <vector>

#include "model/room/breaks.hpp"
#include "model/room/room.hpp"

namespace sched::tune {

/// Time off between two moments, s. A break that may lie there or elsewhere is in `most` alone.
struct Off {
    double least = 0.0;
    double most = 0.0;
};

/// Who worked until noon works through no part of the night: only pauses that lie wholly between
/// the two moments count, so overtime is work.
class TimeOff {
public:
    /// Of [first, end), both midnights.
    TimeOff(const model::Room& room, model::SimTime first, model::SimTime end);
    /// @param person unknown or empty: the hours in which nobody is there.
    Off between(const std::string& person, model::SimTime from, model::SimTime to) const;

private:
    struct Days {
        std::vector<std::pair<model::SimTime, model::SimTime>> there;  // sorted, apart
        std::vector<model::PlacedBreak> breaks;                        // by time
    };
    std::map<std::string, Days> people_;
    Days anybody_;
};

}  // namespace sched::tune
