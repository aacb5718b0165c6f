#pragma once
// Which of several good plans stands the day best: each is simulated through the same days of
// random variation, and the one with the smallest simulated cost is taken. The plan that is best on
// paper gives way only to one that is clearly better.

#include <string>
#include <vector>

#include "sched/core/schedule.hpp"
#include "sched/simulate/replicate.hpp"

namespace sched::study {

struct RobustPlan {
    std::size_t number = 0;             // index into the plans given
    std::vector<std::int64_t> planned;  // its objective on paper
    MeanInterval cost;  // simulated first criterion: weight times s, or as it counts
    MeanInterval late_orders;
    Difference to_first;  // cost minus that of the first plan, day by day
};

struct RobustChoice {
    std::size_t chosen = 0;         // index into the plans given
    std::size_t replications = 0;   // days that every plan simulated through
    std::vector<RobustPlan> plans;  // in the order given
    std::string words;              // what was chosen and why
};

/// @param plans schedules of `room`, the best on paper first; at least one.
/// @param options replications, seed, chance, policy and confidence; every plan meets the same
/// random variation.
/// @returns nullopt where replicate() does.
std::optional<RobustChoice> choose_robust(const model::Scenario& scenario,
                                          const compile::CompileOptions& compile_options,
                                          const compile::RoomProblem& room,
                                          const std::vector<core::Schedule>& plans,
                                          const ReplicateOptions& options);

}  // namespace sched::study
