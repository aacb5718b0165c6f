#pragma once
// state.yaml: what stands where in the middle of the day, who has gone home, what is out of work.

#include <optional>
#include <string>

#include "model/read/spec.hpp"
#include "model/room/state.hpp"

namespace model {

/// Name of the file in a scenario folder.
inline constexpr const char* state_file_name = "state.yaml";

/// @param required whether a missing file is an error. @returns an empty state if there is none;
/// nullopt after errors. That screens, people and stations exist is checked against the compiled
/// room (sched/compile/room_state.hpp).
std::optional<RoomState> read_state(const std::string& path, bool required,
                                    Diagnostics& diagnostics);

/// The text of a state.yaml that reads back as `state` (read_state). What lies before midnight is
/// written as 00:00.
std::string state_text(const RoomState& state);

namespace read {
const Table<RoomState>& state_table();
}  // namespace read

}  // namespace model
