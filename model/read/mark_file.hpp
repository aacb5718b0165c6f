#pragma once
// CSV of marks of past days, as the journal writes it: what tune learns from.

#include <string>
#include <vector>

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

}  // namespace read

}  // namespace model
