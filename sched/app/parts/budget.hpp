#pragma once
// "10s", "2 min", "50000sch" as a search budget.

#include <optional>
#include <string>

#include "sched/app/parts/commands.hpp"
#include "sched/search/base/options.hpp"

namespace sched::app {

/// @returns nullopt if the text is no budget (or is not above zero).
std::optional<search::Budget> parse_budget(const std::string& text);

/// Options with budget, seed, threads and the interrupt flag; nullopt: the budget is wrong, said on
/// the error stream.
std::optional<search::SearchOptions> search_options(const BudgetArgs& args);

}  // namespace sched::app
