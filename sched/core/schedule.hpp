#pragma once
// The answer: where each operation goes. A Schedule is a plain value; whether it is right is for
// sched/check to say, what it is worth for sched/core/objective.

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sched/core/problem.hpp"

namespace sched::core {

/// One operation's place in the schedule. start <= work_end <= end.
struct Placement {
    SimTime start{};
    SimTime work_end{};
    SimTime end{};
    int mode = 0;
    std::vector<ResourceId> chosen;  // one per need of the mode, in its order
    std::vector<StoreId>
        stores;  // one per Take of the operation, in the order of Problem::constraints
    std::optional<int> batch;  // operations with equal numbers share one batch
    friend bool operator==(const Placement&, const Placement&) = default;
};

struct Schedule {
    std::vector<Placement> placements;  // one per operation, in Problem order
    friend bool operator==(const Schedule&, const Schedule&) = default;
};

/// Objective value: one number per criterion of Problem::objective, compared lexicographically.
struct Value {
    std::vector<std::int64_t> parts;
    friend auto operator<=>(const Value&, const Value&) = default;
};

}  // namespace sched::core
