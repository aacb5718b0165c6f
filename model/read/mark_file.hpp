#pragma once
// CSV of marks of past days, as the journal writes it: what tune learns from.

#include <optional>
#include <string>
#include <vector>

#include "model/read/csv_table.hpp"
#include "model/read/spec.hpp"
#include "model/room/past_mark.hpp"

namespace model {

/// Marks of all files in the order of their times; what was taken back (undo) is gone, and so is
/// the undo. A mark that several files hold alike counts once. Every error of every file is
/// reported.
/// @returns none after errors.
std::vector<PastMark> read_marks(const std::vector<std::string>& paths, Diagnostics& diagnostics);

namespace read {

const Table<PastMark>& past_mark_table();

/// What marks are read for. Both take the same lines; to learn from them all are read to the end.
enum class MarkUse { Learn, Enter };

/// The lines of a file; what is wrong with one by itself is reported (and, to enter it, not sound).
/// @returns nullopt where there is no such file, or no text in it.
std::optional<CsvTable<PastMark>> read_mark_table(const std::string& path, MarkUse use,
                                                  Findings& findings);

}  // namespace read

}  // namespace model
