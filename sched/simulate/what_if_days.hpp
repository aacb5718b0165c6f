#pragma once
// What would help (advise/what_if.hpp), judged on the days that may come: the plan as it is and the
// plan with each change go through the same days with the same random variation.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sched/advise/what_if.hpp"
#include "sched/simulate/replicate.hpp"

namespace sched::study {

/// The plan that is judged, as the simulated days of its chances have it. The references must
/// outlive the call.
struct JudgedPlan {
    const model::Scenario& scenario;
    const compile::CompileOptions& compiled;
    const compile::RoomProblem& room;
    const core::Schedule& schedule;
    const std::vector<std::int32_t>& turns;            // ChancePlan::turns; empty: by planned start
    const std::vector<std::vector<double>>& compared;  // ChancePlan::compared
};

/// A room of search::WhatIf::Kind::Other: the same operations, orders and resources by number.
struct OtherRoom {
    model::Scenario scenario;
    core::Problem problem;
};

/// With fewer days than that nothing is said.
inline constexpr std::size_t fewest_judging_days = 25;

struct WhatIfDayOptions {
    /// Days of each, and about as many to choose how work goes with it; what is stopped has those
    /// that all of them have.
    std::size_t most = 100;
    std::uint64_t seed = 1;
    int threads = 1;
    std::string policy = "follow";
    Chance chance;
    core::Seconds hour{1800};       // as WhatIfOptions has it
    std::optional<double> seconds;  // that it may take; then ways and days depend on the machine
    std::function<bool()> stop;     // asked before every day
};

/// More than chance is what it costs, but not that it is worth that: more orders late for less
/// lateness that may be chance. What is added, and need not be used, is then left.
bool only_harm_shows(const core::Problem& problem, const search::WhatIf::OnDays& days);

/// Fills WhatIf::on_days, the best first; what could not be simulated, or not in time, has none and
/// comes last. Work goes in the changed room by the plan's own turns, by the plan that
/// search::what_ifs found with the change or by an order of work that was compared, whichever costs
/// least on days that are not counted. Days
/// are those of the plan's chances (numbers 0, 1, ...), so both say the same of the plan. Intervals
/// hold together, over all changes, with 95 % (Bonferroni). Same result whatever the threads.
void judge_on_days(const JudgedPlan& plan, const std::vector<OtherRoom>& others,
                   const WhatIfDayOptions& options, std::vector<search::WhatIf>& what_ifs);

}  // namespace sched::study
