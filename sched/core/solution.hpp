#pragma once
// What a search hands back: a schedule, what it is worth, and how much better is possible.

#include <cstdint>
#include <optional>
#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::core {

enum class Status {
    Optimal,     // value equals the bound on the whole objective vector that was searched
    Feasible,    // a schedule, gap to the bound unknown to be closed
    Infeasible,  // proved: no schedule exists
    Unknown,     // none found, none excluded
};

struct Solution {
    Status status = Status::Unknown;
    std::optional<Schedule> schedule;
    Value value;  // of `schedule`
    /// Lower bound per criterion, each valid on its own (not lexicographically conditioned).
    Value bound;
    std::int64_t evaluations = 0;  // schedules generated
    /// Other good schedules that the search met, best first; may be empty.
    std::vector<Schedule> elites;
    bool interrupted = false;  // stop() ended it (Ctrl-C); a used-up budget is no interruption
};

}  // namespace sched::core
