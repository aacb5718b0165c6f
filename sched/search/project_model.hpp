#pragma once
// A resource-constrained project, seen in a Problem, and the serial schedule generation scheme over
// it.

#include <cstdint>
#include <optional>
#include <vector>

#include "sched/core/solution.hpp"

namespace sched::search {

/// One mode an operation, finish-to-start precedence, renewable resources, makespan.
struct ProjectModel {
    int activities = 0;
    int resources = 0;
    std::vector<int> duration, base;  // s; earliest start after horizon_start
    std::vector<int> capacity;        // per resource
    std::vector<int> demand;          // activities x resources
    std::vector<int> first_before,
        before;  // predecessors of i: before[first_before[i] .. first_before[i+1])
    std::vector<int> first_after, after;
    std::vector<int> topological;
    bool released = false;  // some base > 0
};

/// @returns nullopt unless the problem is one (minimum lags of 0 from End, no maximum, objective
/// {Makespan}).
std::optional<ProjectModel> project_of(const core::Problem& problem);

/// Longest path, and the work content of each resource between the smallest heads and tails.
std::int64_t project_makespan_bound(const ProjectModel& project);

/// Serial schedule generation over a list, forwards or on the reversed project. Free capacity is a
/// step function over its breakpoints; the capacities of several resources lie in lanes of one
/// word, so that one subtraction compares them all.
class SerialScheme {
public:
    explicit SerialScheme(const ProjectModel& project);

    /// @param list every activity, each after what it depends on in the direction.
    /// @param reversed work from the end: times are then counted backwards from the end.
    /// @param finish out, per activity.  @returns the makespan.
    int run(const int* list, bool reversed, int* finish);

private:
    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    bool fits(const std::uint64_t* free, const std::uint64_t* need) const {
        for (int w = 0; w < words_; ++w) {
            if ((((free[w] | guard_) - need[w]) & guard_) != guard_) return false;
        }
        return true;
    }
    void split(int at, int time);

    const ProjectModel& project_;
    int words_ = 1;
    std::uint64_t guard_ = 0;
    std::vector<std::uint64_t> need_;  // activities x words
    std::vector<std::uint64_t> full_;  // words
    std::vector<int> times_;           // breakpoints, the last holds for ever
    std::vector<std::uint64_t> free_;  // breakpoints x words
    int count_ = 0;
};

}  // namespace sched::search
