#pragma once
// A folder of input as a Scenario. In: room.yaml, orders.csv, frames.csv, optional weather.csv.
// Out: plain values, or every error of every file in one pass.

#include <map>
#include <optional>
#include <string>

#include "model/base/diagnostic.hpp"
#include "model/room/order.hpp"

namespace model {

/// What dates without year or time in orders.csv and frames.csv are read from: the day of the run.
struct RunDay {
    std::optional<SimTime> day = {};    // said on the command line; wins over the room file's
    std::optional<SimTime> clock = {};  // where nobody says it: the next working day from here on
};

/// Reads and checks the folder. Files are named in diagnostics as `folder`/name.
/// What a killed writer had recorded there is completed before (model/base/files.hpp).
/// @returns nullopt when `diagnostics` got an error.
std::optional<Scenario> read_scenario(const std::string& folder, Diagnostics& diagnostics,
                                      const RunDay& run = {});

/// The same of texts by file name that are not written yet; `folder` is where they are to be.
std::optional<Scenario> read_scenario(const std::map<std::string, std::string>& texts,
                                      const std::string& folder, Diagnostics& diagnostics,
                                      const RunDay& run = {});

}  // namespace model
