#pragma once
// The rows of one person's sheet: what is done in one go at one place stands in one row, with where
// the screens come from and go to, and by when a limit wants the next step.

#include <string>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// One kind of work on one or several screens.
struct SheetPart {
    std::string words;              // "coat (2+2), dual-cure A", "booth → cabinet"
    std::vector<std::string> tags;  // one tick box each; empty: belongs to no screen
    std::string by;                 // "rinse by 09:14"; empty: no limit within the hour
    bool carries = false;           // hanging up, setting aside or taking out, and nothing else
};

struct PersonRow {
    SimTime start{};
    SimTime till{};
    bool pause = false;               // a break: `parts` are empty
    std::string break_words;          // of a break: "Break (between 09:00 and 10:00)"
    std::vector<std::string> places;  // where the work is, one after the other; none: only carrying
    std::vector<std::string> named;   // those of them that the work does not tell by itself
    std::vector<std::string> from, to;  // where the screens stood before, and go then
    std::vector<std::string> partners;  // who does it together with this person
    std::vector<SheetPart> parts;
    int turn = 0;                 // the lowest of its steps; 0: none has one
    bool changed = false;         // against the sheet that hangs
    std::vector<int> operations;  // indices into PlanDocument::operations, each in one row
};

/// What `person` does, breaks too, in time order; what is over is left out. Work at one place goes
/// on in the same row while it comes within three minutes (ten for the same screen) and the row
/// stays short, and so does work at the next place on screens of the row that the person takes
/// along; carrying in between stands in the row that it belongs to.
std::vector<PersonRow> person_rows(const PlanDocument& document, const std::string& person);

/// Characters that the row's work takes on paper, a box as two.
std::size_t length_of(const PersonRow& row);

}  // namespace sched::report
