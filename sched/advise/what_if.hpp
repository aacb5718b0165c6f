#pragma once
// What one more of something would save, found by planning again with it.

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "sched/core/solution.hpp"
#include "sched/search/base/options.hpp"

namespace sched::search {

struct WhatIfOptions {
    std::int64_t evaluations = 60;  // schedules a try
    /// What all tries together may cost, shared out evenly; set: it counts instead of
    /// `evaluations`. With seconds the answer depends on the machine: where even the smallest
    /// tries take half as long again, fewer changes are tried, one at least, those waited for
    /// longest first.
    Budget total;
    /// After so long no further change is begun; one is tried at least.
    std::optional<double> most_seconds;
    int seeds = 2;             // tries each, at least 1
    int most = 4;              // resources that are tried: those waited for longest; as many places
                               // that are closed or out of work
    int turns = 2;             // exchanges of turn that are tried
    bool longer = true;        // longer hours are tried, too
    core::Seconds hour{1800};  // by how much a shift is lengthened
    std::uint64_t seed = 1;
    int threads = 1;
    std::function<bool()> stop;
};

/// One change of the room and what it does.
struct WhatIf {
    enum class Kind {
        OneMore,  // one more unit; where it is one of several to choose from: another one like it
        Longer,   // somebody's last window ends `hour` later, on every day of the plan; a place is
                  // not closed
        Before,   // `first` goes before `second`: a decision, which others may pay for
        Other,    // one of the problems that the caller brought
    };
    core::ResourceId resource;
    Kind kind = Kind::OneMore;
    core::Value value;  // the best found with the change
    core::Value base;   // the best found without, with the same effort
    /// base - value, per criterion. Read the first that is not 0.
    std::vector<std::int64_t> saved;
    /// Even the worst try with the change beats the best without.
    bool certain = false;
    std::optional<std::int64_t> schedules;  // in all tries with the change; none: not counted
    /// The resource waited for longest in the plan with the change; none: nothing waits.
    std::optional<core::ResourceId> next;
    core::OperationId first = core::OperationId::none(), second = core::OperationId::none();
    std::size_t other = 0;  // Kind::Other: which
    struct Change {
        core::OrderId order;
        core::Seconds less{0};  // so much less late than without; negative: later
    };
    std::vector<Change> orders;  // whose lateness changes, the most relieved first
    core::Schedule schedule;     // the best found with the change
    /// What it does to simulated days, with the change against without on the same ones
    /// (sched/simulate/what_if_days.hpp). A number shows where its interval leaves 0 out.
    struct OnDays {
        std::size_t days = 0;
        double cost = 0.0;        // all aims in one number, with less without; below 0: better
        bool shows = false;       // the same
        double fewer_late = 0.0;  // late orders a day
        bool fewer_show = false;
        std::vector<double> saved;  // a day, per criterion, as `saved`
        std::vector<char> saved_shows;
        struct Order {
            core::OrderId order;
            double late_without = 0.0, late_with = 0.0;  // shares of the days
        };
        std::vector<Order> orders;  // those that show, the most relieved first
    };
    std::optional<OnDays> on_days;  // none: not simulated
};

struct WhatIfs {
    std::vector<WhatIf> changes;  // best first
    std::size_t left_out = 0;     // so many more there was no time for
};

/// For a look at what limits the day, with every plan: one more of each of the resources that are
/// waited for longest, at a tenth of what the search has cost.
WhatIfOptions quick_look(std::int64_t evaluations);

/// The same problem with something changed that only the caller can change: same operations,
/// orders and resources by number.
struct OtherProblem {
    core::Problem problem;
    bool holds = false;  // every schedule of the problem at hand is one of this, too
};

/// Two operations that want the same place, of which the late order's came second.
struct Turn {
    core::OperationId first, second;
};
/// Exchanges of turn along the chains of late orders, the longest waits of the costliest first.
std::vector<Turn> turns_to_exchange(const core::Problem& problem, const core::Schedule& schedule,
                                    int most);

/// The change itself. @returns the changed problem; resource numbers stay, a copy comes last.
core::Problem with_one_more(const core::Problem& problem, core::ResourceId resource);
core::Problem with_longer_hours(const core::Problem& problem, core::ResourceId resource,
                                core::Seconds by);
/// When a place is closed, or out of work, after the plan's moment or at it; of people none.
std::vector<core::Window> closings(const core::Problem& problem, core::ResourceId resource);
core::Problem with_turn(const core::Problem& problem, const Turn& turn);
/// OneMore and Longer on any problem with the same resources by number; else the problem as it is.
/// @param hour by how much a shift is lengthened.
core::Problem with_change(const core::Problem& problem, const WhatIf& what_if, core::Seconds hour);

/// Plans again from `solution` with every change and, for the comparison, without one, each with
/// the same seeds and evaluations. Where the plan at hand is a plan of the changed room too, the
/// change is never worse than it. Empty if the solution has no schedule. Deterministic;
/// costs about evaluations * seeds * (2 * most + turns + others + 1) schedules, or `total`.
WhatIfs what_ifs(const core::Problem& problem, const core::Solution& solution,
                 const WhatIfOptions& options, const std::vector<OtherProblem>& others = {});

/// Counts what each saves from `base`, the value of another plan of the same room, where less is
/// late in that one than in what they were compared with: so much was to be had without the change.
void measure_against(const core::Problem& problem, const core::Value& base,
                     std::vector<WhatIf>& what_ifs);

}  // namespace sched::search
