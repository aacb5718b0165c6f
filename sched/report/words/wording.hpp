#pragma once
// How numbers and times are said, the same in every report.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// "14:05" on the day of the first start, "Fri 14:05" within six days of it, else the full date.
/// The minute is model::shown_minute.
std::string when(const RunLine& run, SimTime t);
/// Not in stock and wanted yet: in the middle of the day what was mixed or coated from is there.
bool is_to_buy(const PlanDocument& d, const MixLine& mix);
/// "2026-11-26 06:00": a date that somebody else is told.
std::string buy_words(const MixLine& mix);
/// One sentence an emulsion: what is wanted on one day is bought at once, by the first time.
/// @param buys that are to buy. @param begin of the run: what is wanted at its start.
std::vector<std::string> buying_list(const std::vector<MixLine>& buys, SimTime begin);

/// "25 min late", "10 min early", "on time"; empty without a due time. It is the difference between
/// the due and the ready time as they are shown, so that the sum is right on paper.
std::string lateness_words(const OrderLine& order);

/// Whole minutes from the shown due to the shown ready time: -10 = ten minutes early.
/// @pre order.lateness is set.
std::int64_t lateness_minutes(const OrderLine& order);

/// "58 x 84 cm"
std::string area_words(const model::Area& area);

/// "1,500 ml" is written "1500 ml".
std::string volume_words(double ml);

/// "87 %" or "n/a".
std::string percent(const std::optional<double>& ratio);
/// The same of a chance: what has happened on one day of the simulated ones is not "0 %".
std::string chance_words(const std::optional<double>& chance);

/// "1 order", "3 orders"
std::string counted(std::size_t n, const std::string& one);

/// "95 schedules tried", "1 schedule tried"; where there was no time for any but the one that the
/// search begins with, "no other schedule tried".
std::string tried_words(const RunLine& run);

/// "Ada, Ben and Cem"
std::string joined(const std::vector<std::string>& names);

}  // namespace sched::report
