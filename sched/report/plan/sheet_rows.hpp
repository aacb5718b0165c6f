#pragma once
// The rows of a station's sheet: what is done to a screen in one go stands in one row. Those of
// people: person_rows.hpp.

#include <string>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// One visit: several steps on one screen in a row.
struct SheetRow {
    SimTime start{};
    SimTime till{};
    std::vector<std::string> tags;   // one tick box each; empty: belongs to no screen
    std::vector<std::string> words;  // one a step, without the tags
    std::vector<std::string> where;  // people
    std::vector<std::string> cautions;
    bool changed = false;         // against the sheet that hangs
    std::vector<int> operations;  // indices into PlanDocument::operations, each in one row
};

/// What goes on at `station`, in time order; what is over is left out. Steps of one screen that
/// never leaves are one row, as is a screen's way in and out of the cabinet. Carrying is on the
/// carrier's sheet.
std::vector<SheetRow> station_rows(const PlanDocument& document, const std::string& station);

bool listed(const std::vector<std::string>& list, const std::string& name);
void add_once(std::vector<std::string>& list, const std::string& name);
/// The words of a step without the screen's tag, which stands in a place of its own.
std::string without_tag(std::string words, const std::string& tag);

}  // namespace sched::report
