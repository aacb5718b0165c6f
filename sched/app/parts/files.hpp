#pragma once
// Files as whole texts.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// @returns nullopt if it cannot be read or is larger than `limit` bytes.
std::optional<std::string> read_text(const std::string& path, std::size_t limit);

/// Names and digests of the input files of a scenario folder that are there.
std::vector<report::InputFile> input_files(const std::string& folder);

struct ReadFolder {
    std::optional<model::Scenario> scenario;  // nullopt when the diagnostics got an error
    std::vector<report::InputFile> inputs;    // the files that it was read from
};

/// model::read_scenario, with the digests of the very files that were read: whoever accepts an
/// order replaces them at any moment.
ReadFolder read_folder(const std::string& folder, model::Diagnostics& diagnostics,
                       const model::RunDay& run);

/// Where a page of one file goes: into the folder `out`, as `name`, if that is a folder, or is not
/// there and has no ending like .html (then it is made); else it is the file `out`.
std::string page_file(const std::string& out, const char* name);

/// Says that a result could not be written. @returns the exit status.
int not_written(const char* command, const std::string& error);

}  // namespace sched::app
