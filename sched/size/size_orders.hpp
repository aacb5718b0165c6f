#pragma once
// What goes first in a room of a study: the choice that a lead makes before anything is simulated.
// Seen in this folder only.

#include <memory>
#include <string>
#include <vector>

#include "sched/size/size_day.hpp"

namespace sched::study {

/// An order of work. Immutable; shared by threads.
struct SizeOrder {
    std::string rule;  // of engine::rules(); empty: the list
    /// Turn of every operation of the room with its spare ways, s (Policy::list).
    std::shared_ptr<const std::vector<double>> list;
    std::vector<double> run;  // of the run's operations alone
    std::string words;
};

/// Searches on days of its own (list_search.hpp); the best list, and the best that was not
/// searched. Empty where no list leads to an end. @param room the first kind of day's. @param days
/// simulated, at most.
std::vector<SizeOrder> search_orders(const model::Scenario& scenario, const SizeRoom& room,
                                     const SizeOptions& settings, const std::string& day_kind,
                                     std::int64_t days);

/// The order of another room, by the names of its operations; what is new there goes with the rest
/// of its screen.
SizeOrder carried_over(const SizeOrder& order, const compile::RoomProblem& from,
                       const compile::RoomProblem& to);

}  // namespace sched::study
