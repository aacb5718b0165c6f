#pragma once
// What the days that may come make of a plan, in words: the first line of everything that people
// read, and what to do when the day differs.

#include <cstdint>
#include <string>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// An order whose chance to be late is above this is marked.
inline constexpr double marked_chance = 0.2;

/// Late as planned, or likely enough to be late on the day.
bool at_risk(const OrderLine& order);

/// The order as it will probably be: its ready time is the middle one of the simulated days, where
/// there are any, and lateness counts from there.
OrderLine as_expected(const OrderLine& order);

/// @param turns per operation of the run (what was filled in besides has none); empty: none.
void add_turns(const std::vector<std::int32_t>& turns, PlanDocument& document);

/// Fills run.first_words from the chances of the orders: "About 2 of 12 orders will be late; watch
/// A6 (65 %) and A7 (54 %)."
void add_first_words(PlanDocument& document);

/// "On hold, so left out of everything: A5."; empty: no order is. Stands with the first lines:
/// whoever reads no further must not take it that all is planned.
std::string on_hold_words(const PlanDocument& document);

/// What whoever is free does when the day differs from the plan; empty if the document says nothing
/// of it.
std::string recourse_words(const PlanDocument& document);

}  // namespace sched::report
