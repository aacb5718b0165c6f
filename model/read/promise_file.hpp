#pragma once
// promises.csv: what was promised and what came of it. A table as the other CSV files, or NDJSON
// (one object a line, the columns as keys), told apart by the first character.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/read/spec.hpp"
#include "model/room/past_promise.hpp"

namespace model {

/// Name of the file in a scenario folder; the journal takes it in.
inline constexpr const char* promise_journal_name = "promises.csv";

/// @param required whether a missing file is an error. @returns the entries in the file's order;
/// empty with errors in `diagnostics`, or when there is no file.
std::vector<PastPromise> read_promises(const std::string& path, bool required,
                                       Diagnostics& diagnostics);

/// First line of a promises.csv and one line of it, with line ends; what read_promises reads back.
std::string promise_heading();
std::string promise_row(const PastPromise& promise);

namespace read {
const Table<PastPromise>& past_promise_table();
}  // namespace read

}  // namespace model
