#pragma once
// Orders and steps of one kind, moved as wholes: the few numbers that say most about a list.

#include <cstdint>
#include <functional>
#include <vector>

#include "sched/search/base/evolution.hpp"
#include "sched/search/room/point.hpp"

namespace sched::search {

/// Runs of an evolution strategy. What it varies is how much sooner or later the blocks of each
/// order go, in s, and those of each kind (the last of their screen, the last but one, ...); a
/// point's blocks go by the starts of a schedule and these shifts. Not thread-safe.
class Shifts {
public:
    /// Decodes a point. @returns false if it leads to no schedule, or time is up.
    using Decode = std::function<bool(RoomPoint& point, std::vector<std::int64_t>& value)>;

    Shifts(const engine::CompiledProblem& problem, const RoomUnits& units);

    /// With less than two orders there is nothing to shift.
    bool any() const { return orders_ > 1; }
    /// How many times the usual population the first run should have: more where more is varied.
    std::size_t population() const;

    /// One run, until `over`, or until it has found nothing better for long.
    /// @param point choices and look-ahead are kept, waits are not. @param schedule its schedule.
    void run(const RoomPoint& point, const engine::FlatSchedule& schedule, std::size_t population,
             Rng rng, const Decode& decode, const std::function<bool()>& over) const;

private:
    void shift(const std::vector<double>& base, const std::vector<double>& by,
               RoomPoint& point) const;

    const engine::CompiledProblem& problem_;
    const RoomUnits& units_;
    std::size_t orders_ = 0, kinds_ = 1;
    std::vector<std::size_t> kind_;  // per block
};

}  // namespace sched::search
