#pragma once
// chance.yaml and arrivals.csv of a scenario folder: what a simulated day may bring. Both may be
// missing.

#include <optional>
#include <string>
#include <vector>

#include "model/read/spec.hpp"
#include "model/room/chance.hpp"

namespace model {

struct ChanceFiles {
    ChanceSettings chance;
    bool own = false;  // chance.yaml was there
    std::vector<PastOrder> past;
};

/// @param scenario what the files name must be in it.  @param instead text to read as chance.yaml
/// instead of the file; nullptr: the file. @returns nullopt after errors.
std::optional<ChanceFiles> read_chance(const Scenario& scenario, Diagnostics& diagnostics,
                                       const std::string* instead = nullptr);

namespace read {

const Table<ChanceSettings>& chance_table();
const Table<PastOrder>& arrivals_table();

}  // namespace read

}  // namespace model
