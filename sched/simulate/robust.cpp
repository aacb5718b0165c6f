#include "sched/simulate/robust.hpp"

#include <fmt/format.h>

#include "sched/core/objective.hpp"

namespace sched::study {

namespace {

// The first criterion in words that a plan's reader knows.
std::string cost_words(core::Criterion criterion, double cost) {
    if (core::row_of(criterion).in_orders) return fmt::format("{:.2f} late orders", cost);
    return core::words(criterion) + " " + model::format_duration(model::round_up(cost));
}

}  // namespace

std::optional<RobustChoice> choose_robust(const model::Scenario& scenario,
                                          const compile::CompileOptions& compile_options,
                                          const compile::RoomProblem& room,
                                          const std::vector<core::Schedule>& plans,
                                          const ReplicateOptions& options) {
    std::vector<Replications> simulated;
    for (const auto& plan : plans) {
        auto found = replicate(scenario, compile_options, room, &plan, options);
        if (!found) return std::nullopt;
        simulated.push_back(*std::move(found));
    }
    // Days that every plan simulated to its end: only they can be compared.
    std::vector<std::vector<double>> cost(plans.size()), late(plans.size());
    std::size_t days = simulated.front().all.size();
    for (const auto& r : simulated)
        days = std::min(days, r.all.size());
    for (std::size_t d = 0; d < days; ++d) {
        bool all = true;
        for (const auto& r : simulated)
            all = all && r.all[d].complete;
        for (std::size_t p = 0; all && p < plans.size(); ++p) {
            const Replication& day = simulated[p].all[d];
            cost[p].push_back(static_cast<double>(day.objective.front()));
            int count = 0;
            for (std::size_t o = 0; o < day.ready.size(); ++o) {
                const auto& due = room.problem.orders[o].due;
                count += due && day.ready[o] > (*due - room.problem.horizon_start).count() ? 1 : 0;
            }
            late[p].push_back(count);
        }
    }
    RobustChoice out;
    out.replications = cost.front().size();
    if (out.replications < 2) return std::nullopt;
    std::size_t least = 0;
    for (std::size_t p = 0; p < plans.size(); ++p) {
        RobustPlan plan{.number = p,
                        .planned = core::evaluate(room.problem, plans[p]).parts,
                        .cost = mean_interval(cost[p], options.confidence),
                        .late_orders = mean_interval(late[p], options.confidence),
                        .to_first = paired_difference(cost[p], cost[0], options.confidence)};
        out.plans.push_back(std::move(plan));
        if (out.plans[p].cost.mean < out.plans[least].cost.mean) least = p;
    }
    const auto criterion = room.problem.objective.front();
    const auto& best = out.plans[least];
    const bool clear = least != 0 && best.to_first.interval.high < 0.0;
    out.chosen = clear ? least : 0;
    out.words =
        fmt::format("{} plans simulated on the same {} days. ", plans.size(), out.replications);
    if (least == 0) {
        out.words += fmt::format("The best on paper is also the best in them: {} on average.",
                                 cost_words(criterion, best.cost.mean));
    } else {
        out.words += fmt::format(
            "Plan {} costs least in them, {} on average; the best on paper {}; difference {} to {} "
            "({:.0f} %). ",
            least + 1, cost_words(criterion, best.cost.mean),
            cost_words(criterion, out.plans[0].cost.mean),
            cost_words(criterion, std::max(0.0, -best.to_first.interval.high)),
            cost_words(criterion, std::max(0.0, -best.to_first.interval.low)),
            100.0 * options.confidence);
        out.words += clear ? fmt::format("Taken: plan {}.", least + 1)
                           : "That is not clear enough to leave the best on paper: it is taken.";
    }
    return out;
}

}  // namespace sched::study
