#pragma once
// The rows of a printed run sheet: what somebody does in one go stands in one row, so that a sheet
// stays short enough to hang up.

#include <string>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// One visit: several steps on one screen in a row, or one step on several screens in a row.
struct SheetRow {
    SimTime start{};
    SimTime till{};
    std::vector<std::string> tags;   // one tick box each; empty: belongs to no screen
    std::vector<std::string> words;  // one a step, without the tags
    std::vector<std::string> where;  // of a person: places; of a station: people
    std::vector<std::string> cautions;
    bool changed = false;         // against the sheet that hangs
    std::vector<int> operations;  // indices into PlanDocument::operations, each in one row
};

/// What is over is left out of both.

/// What `person` does, in time order. Steps on one screen are one row while nothing else comes
/// between and no pause is longer than ten minutes; the same step on several screens, one straight
/// after the other, is one row of up to four tags.
std::vector<SheetRow> person_rows(const PlanDocument& document, const std::string& person);

/// What goes on at `station`, in time order. Steps of one screen that never leaves are one row,
/// as is a screen's way in and out of the cabinet. Carrying is on the carrier's sheet.
std::vector<SheetRow> station_rows(const PlanDocument& document, const std::string& station);

}  // namespace sched::report
