#pragma once
// What one more of something would save, found by planning again with it.

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "sched/core/solution.hpp"
#include "sched/search/options.hpp"

namespace sched::search {

struct WhatIfOptions {
    std::int64_t evaluations = 60;  // schedules a try
    /// What all tries together may cost, shared out evenly; set: it counts instead of
    /// `evaluations`. With seconds the answer depends on the machine.
    Budget total;
    int seeds = 2;             // tries each, at least 1
    int most = 4;              // resources that are tried: those waited for longest
    core::Seconds hour{3600};  // by how much a shift is lengthened
    std::uint64_t seed = 1;
    int threads = 1;
    std::function<bool()> stop;
};

/// One change of the room and what it does.
struct WhatIf {
    enum class Kind {
        OneMore,  // one more unit; where it is one of several to choose from: another one like it
        Longer,   // its last window ends `hour` later, on every day of the plan
    };
    core::ResourceId resource;
    Kind kind = Kind::OneMore;
    core::Value value;  // the best found with the change
    core::Value base;   // the best found without, with the same effort
    /// base - value, per criterion. Read the first that is not 0.
    std::vector<std::int64_t> saved;
    /// Even the worst try with the change beats the best without.
    bool certain = false;
    /// The resource waited for longest in the plan with the change; none: nothing waits.
    std::optional<core::ResourceId> next;
};

/// The change itself. @returns the changed problem; resource numbers stay, a copy comes last.
core::Problem with_one_more(const core::Problem& problem, core::ResourceId resource);
core::Problem with_longer_hours(const core::Problem& problem, core::ResourceId resource,
                                core::Seconds by);

/// Plans again from `solution` with every change and, for the comparison, without one, each with
/// the same seeds and evaluations. The plan at hand is a plan of every changed room too, so none is
/// worse than it. Best first. Empty if the solution has no schedule. Deterministic; costs about
/// evaluations * seeds * (2 * most + 1) schedules, or `total`.
std::vector<WhatIf> what_ifs(const core::Problem& problem, const core::Solution& solution,
                             const WhatIfOptions& options);

}  // namespace sched::search
