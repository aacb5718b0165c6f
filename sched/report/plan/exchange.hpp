#pragma once
// The plan for spreadsheets (RFC 4180) and calendars (RFC 5545).

#include <string>
#include <string_view>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// One cell of a CSV row, quoted where RFC 4180 asks for it. A cell that a spreadsheet would take
/// for a formula (begins with = + - @, tab or carriage return) gets a leading apostrophe.
std::string csv_cell(std::string text);

/// One row per operation in order of start, header row first, CRLF; cells by csv_cell.
std::string to_csv(const PlanDocument& document);

/// All people's events (CATEGORIES names the person), or those of one person. Floating local times;
/// DTSTAMP is the start of the run, never the clock; a UID is the same as long as room, day,
/// screen, step and person are, so that a plan made again replaces the old events.
std::string to_calendar(const PlanDocument& document, std::string_view person = {});

}  // namespace sched::report
