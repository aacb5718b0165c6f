#pragma once
// What the tables of keys say, for people and for editors: the JSON Schema of room.yaml and the
// tables of docs/input.md. Both are files in docs/ that a test holds against these functions.

#include <string>
#include <string_view>
#include <vector>

namespace model::read {

/// JSON Schema draft-07 of room.yaml.
std::string room_schema();

/// Names of the tables that `reference_table` knows: "room", "stations", "stations/air", ...,
/// "orders.csv", "frames.csv", "weather.csv", "steps", "units".
std::vector<std::string> reference_names();
/// One table in Markdown; empty for an unknown name.
std::string reference_table(std::string_view name);

/// The text with everything between "<!-- table: NAME -->" and "<!-- end -->" replaced by the
/// table.
std::string renew_tables(std::string_view markdown);

}  // namespace model::read
