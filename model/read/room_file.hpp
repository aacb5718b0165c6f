#pragma once
// room.yaml: the tables of its keys, and reading it. A new key is one row in room_file.cpp.

#include <string_view>

#include "model/read/findings.hpp"
#include "model/read/spec.hpp"
#include "model/room/room.hpp"

namespace model::read {

const Table<Room>& room_table();

/// Steps by their words, with the time of each: the group "times".
const Table<StepTime>& step_time_table();

/// Reads clean UTF-8 text into `room`; everything wrong goes to `findings`. `tree` keeps the places
/// (elements of `room` stand at the same index in it).
/// @returns false when the text was not YAML at all: nothing in `room` counts then.
bool read_room(std::string_view text, Findings& findings, Room& room, YamlNode& tree);

/// The same from a tree, a mapping. Places may stand in other files (changes laid over the room).
void read_room(const YamlNode& tree, Findings& findings, Room& room);

}  // namespace model::read
