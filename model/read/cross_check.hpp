#pragma once
// What the files say about each other: names that do not exist, frames that fit nowhere, places
// that are not light-safe, steps that nobody can do. Nothing here plans.

#include <optional>
#include <string>
#include <vector>

#include "model/read/order_file.hpp"
#include "model/read/room_file.hpp"
#include "model/read/scenario.hpp"

namespace model::read {

/// What the files were read from, for the places of what does not fit.
struct Sources {
    YamlNode room;
    CsvTable<OrderRow> orders;
    std::vector<std::vector<std::size_t>> lines_of;  // CSV lines of each order
    CsvTable<FrameStock> frames;
    CsvTable<WeatherLine> weather;
};

/// As read_scenario; `sources` for whoever holds another room against the same orders and frames.
std::optional<Scenario> read_with_sources(const std::string& folder, Diagnostics& diagnostics,
                                          const RunDay& run, Sources& sources);

/// Place of the key's value, of the mapping itself where the key is not there.
SourcePlace place_under(const YamlNode& node, std::string_view key);
/// Of item i of a list under the key; of one value that stands alone.
SourcePlace item_place(const YamlNode& node, std::string_view key, std::size_t i);

/// Steps' times and their exceptions.
void check_times(const Room& room, const YamlNode& tree, Findings& findings);

/// The room alone.
void check_room(const Room& room, const YamlNode& tree, Findings& findings);
/// Lines that ask for a mesh by its count ("120 /cm") get the name of the one mesh of the room that
/// has it, to one per cent (the trade rounds 90 /cm to 230 /in). Where there is none, or more than
/// one, the text stays and check_orders complains.
void name_meshes_by_count(Scenario& scenario);
/// Orders against the room; needs a room that was read.
void check_orders(const Scenario& scenario, const Sources& sources, Findings& findings);
/// Frames against room and orders.
void check_frames(const Scenario& scenario, const Sources& sources, Findings& findings);
void check_weather(const Sources& sources, Findings& findings);
/// Steps that the scenario needs and that no station does or no person can.
void check_steps(const Scenario& scenario, const YamlNode& tree, Findings& findings);

}  // namespace model::read
