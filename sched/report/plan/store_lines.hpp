#pragma once
// The frame store at the end of the run: what came back and was reclaimed, and what stands there
// then, as lines of the plan document and as tomorrow's frames.csv.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// Fills `returns` and `stock_after`. @pre operations are filled.
void add_store_lines(const model::Scenario& scenario, const compile::RoomProblem& room,
                     PlanDocument& document);

/// When something first leaves the store; nullopt: nothing does.
std::optional<SimTime> first_take(const core::Problem& problem, const core::Schedule& schedule,
                                  core::StoreId store);

/// The stock as a frames.csv (RFC 4180, lines end in LF). Screens that the run made are at the
/// press and not in it.
std::string to_frames_csv(const PlanDocument& document);

/// "R1: 58 x 84 cm 77-55, inky, back 10:30; clean mesh by 11:20" without the tag.
std::string return_words(const PlanDocument& document, const ReturnLine& line);

/// "58 x 84 cm 77-55, inky, back 08:00 tomorrow" without the count.
std::string stock_words(const PlanDocument& document, const StockLine& line);

}  // namespace sched::report
