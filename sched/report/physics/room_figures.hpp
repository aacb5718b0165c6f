#pragma once
// What a room file comes to, in figures that a lead can judge at a glance, each with the key that
// changes it. `coatroom check` prints them.

#include <optional>
#include <string>
#include <vector>

#include "model/room/order.hpp"

namespace sched::report {

struct RoomFigure {
    std::string name;    // "dries 2+2 on 120-34"
    std::string says;    // "40 min alone, 52 min in a full cabinet"
    std::string change;  // "air; emulsions: wet film; or time one: coatroom dry --observed"
};

/// Ten of them, of the screens that the orders ask for most; fewer where the room has less. Where
/// another cabinet or unit takes another time, that follows the first one's.
std::vector<RoomFigure> room_figures(const model::Scenario& scenario);

/// The size of frame that the orders ask for most; none without screens that are to be made.
std::optional<model::Area> usual_frame(const model::Scenario& scenario);

/// One line each, and under it what to change; at most 80 columns.
std::string figures_text(const std::vector<RoomFigure>& figures);

}  // namespace sched::report
