#pragma once
// A change file and the room with changes laid over it. A change may say anything that room.yaml
// may say: things of a list are found by their name, `like:` copies one, the rest replaces what was
// there.

#include <optional>
#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "model/read/spec.hpp"
#include "model/room/change.hpp"

namespace model {

/// Reads the head of a change file (name, words, costs). @returns nullopt after an error.
std::optional<Change> read_change(const std::string& path, Diagnostics& diagnostics);

/// The folder as read_scenario reads it, with the `room:` parts of the change files laid over
/// room.yaml in the order given. @returns nullopt when `diagnostics` got an error.
std::optional<Scenario> read_changed_scenario(const std::string& folder,
                                              const std::vector<std::string>& change_paths,
                                              Diagnostics& diagnostics, const RunDay& run = {});

namespace read {

/// Keys of a change file but `room`.
const Table<Change>& change_table();

/// Lays `over` over `base`: mappings key by key; lists of mappings with a `name` element by
/// element, matched by name; an element with `like: X` is a copy of X with what it says itself laid
/// over; `remove: yes` takes the element of that name away; everything else is replaced. Elements
/// that match nothing and copy nothing are added. Errors (no such X) go to `findings`.
YamlNode lay_over(const YamlNode& base, const YamlNode& over, Findings& findings);

}  // namespace read
}  // namespace model
