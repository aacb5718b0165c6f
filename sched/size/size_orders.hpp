#pragma once
// What goes first in a room of a study: the choice that a lead makes before anything is simulated.
// Seen in this folder only.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sched/size/size_day.hpp"

namespace sched::study {

/// An order of work: a plan that is followed, a list, or a rule. Immutable; shared by threads.
struct SizeOrder {
    std::string rule;  // of engine::rules(); empty: the plan or the list
    std::shared_ptr<const core::Schedule> plan;
    /// Turn of every operation of the room with its spare ways, s (Policy::list).
    std::shared_ptr<const std::vector<double>> list;
    std::vector<double> run;  // of the run's operations alone; planned starts of a plan
    std::string words;
    bool searched() const { return plan || list; }
};

/// The plan that `coatroom plan` and `promise` would make (chance_plan.hpp), on days of its own.
/// @param room the first kind of day's. @param effort schedules on paper, and schedules and days
/// after that. @returns nullopt if there is no plan.
std::optional<SizeOrder> search_order(const model::Scenario& scenario, const SizeRoom& room,
                                      const SizeOptions& settings, const std::string& day_kind,
                                      std::int64_t effort);

/// The order of another room as a list, by the names of its operations; what is new there goes with
/// the rest of its screen.
SizeOrder carried_over(const SizeOrder& order, const compile::RoomProblem& from,
                       const compile::RoomProblem& to);

}  // namespace sched::study
