#pragma once
// Two tools of the bounds: how long a set of resources needs for an amount of work, and the
// cheapest assignment of orders to places.

#include <cstdint>
#include <vector>

#include "sched/core/problem.hpp"

namespace sched::search {

/// Capacity-seconds that a set of resources offers over its calendars.
class CapacityClock {
public:
    CapacityClock(const core::Problem& problem, const std::vector<core::ResourceId>& resources);
    /// The first second (after the horizon's start) by which `work` capacity-seconds have been on
    /// offer since `from`. Past every calendar: the last change, which is still a lower bound where
    /// work is left over.
    std::int64_t after(std::int64_t from, std::int64_t work) const;

private:
    struct Change {
        std::int64_t at;
        std::int64_t capacity;  // from there on
    };
    std::vector<Change> changes_;  // the first at the earliest time there is
};

/// Minimum cost of a perfect assignment. @pre square, costs >= 0. O(n³).
std::int64_t least_assignment(const std::vector<std::vector<std::int64_t>>& costs);

}  // namespace sched::search
