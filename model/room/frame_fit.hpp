#pragma once
// Which stations of the room take a frame, step by step, and how many people.

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "model/room/order.hpp"
#include "model/room/room.hpp"

namespace model {

/// By its largest frame and its blanket.
bool takes_frame(const Station& station, const Area& frame);
/// How many carry a frame of that size through the step; TakeOut stands for all carrying.
int people_for(const Room& room, Step step, const Area& frame);
/// Steps at a place that every screen of the line meets, whatever frame it is made on.
std::vector<Step> steps_of_line(const Room& room, const ScreenLine& line);

/// The first step of a screen for which every station of the room is too small for its frame, and
/// what one of them takes.
struct TooBig {
    Step step = Step::Coat;
    std::optional<Area> most;
};
std::optional<TooBig> fits_nowhere(const Room& room, const ScreenLine& line);

/// A state of a frame as documents name it and as people read it.
struct FrameStateRow {
    FrameState state;
    std::string_view key;    // "old-stencil"
    std::string_view words;  // "with an old stencil"
};
/// One for each state.
std::span<const FrameStateRow> frame_state_rows();
const FrameStateRow& row_of(FrameState state);

/// The first step of a frame of the stock before it is degreased for which the room has no station,
/// or none for its size: such frames are reclaimed elsewhere. Nothing: it can be made clean here.
std::optional<Step> not_reclaimed_here(const Room& room, const FrameStock& stock);

}  // namespace model
