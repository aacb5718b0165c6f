#pragma once
// What the print office asks for and what stands in the frame store: orders.csv, frames.csv,
// weather.csv as plain values.

#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/base/quantity.hpp"
#include "model/base/time.hpp"
#include "model/room/room.hpp"

namespace model {

/// One line of screens of an order: `count` alike.
struct ScreenLine {
    int count = 1;                    // 1 .. 64
    std::optional<std::string> mesh;  // none: proposed from line or ruling
    Area frame;                       // outer frame size
    std::string emulsion;
    std::string coat_plan;
    std::optional<Micrometres> finest_line;
    std::optional<LinesPerCm> ruling;
    std::optional<Area> image;
    std::optional<SimTime> film_ready;  // none: film is there
    bool kept_stencil = false;          // repeat order: stencil was kept, goes to inspection
    SourcePlace place;
    friend bool operator==(const ScreenLine&, const ScreenLine&) = default;
};

/// One customer order: due at the press as a whole.
struct Order {
    std::string name;      // "A17", unique
    std::string customer;  // label
    SimTime due{};
    int priority = 1;   // weight, 1 .. 9
    bool hold = false;  // known, but not to be made for now: no Scenario that was read has it
    std::vector<ScreenLine> lines;
    SourcePlace place;
    SourcePlace due_place;
    friend bool operator==(const Order&, const Order&) = default;
};

/// States of a frame in the store, from inky to coated.
enum class FrameState { Ready, Inky, OldStencil, NewMesh, Coated, KeptStencil };

/// `count` frames alike.
struct FrameStock {
    Area size;
    std::string mesh;
    FrameState state = FrameState::Ready;
    int count = 1;
    std::optional<bool>
        haze;  // inky and old stencil: needs the haze step; none: by Room::haze_share
    std::optional<SimTime> coated_dry;    // Coated: dry since
    std::optional<std::string> emulsion;  // Coated: with
    std::optional<std::string> coat_plan;
    std::optional<std::string> order;  // KeptStencil: belongs to this order
    std::optional<SimTime> from;       // comes back from the press at; none: is there
    std::optional<SimTime> due_back;   // as frames.csv has it, where a mark says otherwise
    SourcePlace place;
    friend bool operator==(const FrameStock&, const FrameStock&) = default;
};

/// Outdoor or room air from weather.csv, one row an hour (step function).
struct WeatherRow {
    SimTime from{};
    Air air;
    friend bool operator==(const WeatherRow&, const WeatherRow&) = default;
};

/// A folder of input, read whole.
struct Scenario {
    std::string folder;
    Room room;
    std::vector<Order> orders;
    std::vector<FrameStock> frames;
    std::vector<WeatherRow> weather;
    friend bool operator==(const Scenario&, const Scenario&) = default;
};

}  // namespace model
