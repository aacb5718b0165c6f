#pragma once
// Marks as CSV: docs/journal.md names the columns.

#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "sched/journal/entry.hpp"

namespace sched::app {

/// First line of the file.
inline constexpr const char* mark_columns =
    "time,mark,what,step,station,person,reason,by,device,entered,id,undoes";

/// One line an entry, in their order.
std::string marks_to_csv(const std::vector<journal::Entry>& entries);

/// What a file adds to a journal: lines that say what an entry says already are left out, and so
/// are posted plans, whose documents are not in the file (a warning says so). `undoes` of an undo
/// of the file's own line is below zero (Journal::add).
/// @param now when a line was entered that does not say it. @returns nullopt when diagnostics got
/// an error.
std::optional<std::vector<journal::Entry>> read_marks(const std::string& path,
                                                      const std::vector<journal::Entry>& known,
                                                      model::SimTime now,
                                                      model::Diagnostics& diagnostics);

}  // namespace sched::app
