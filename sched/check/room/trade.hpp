#pragma once
// What the trade says of each step, once more and apart from the planner: usual times, light, which
// words of the plan document mean it. Figures: common practice, no published source.

#include <optional>
#include <string_view>

#include "model/room/room.hpp"

namespace sched::check::room {

struct TradeStep {
    model::Step step;
    std::string_view key;     // in the plan document
    std::int64_t attended_s;  // usual time, where the room file names none: a person's ...
    std::int64_t stands_s;    // ... and then the place's
    bool dark;                // the layer is open to light: yellow light only
    bool dries;               // water leaves, nobody needed
};

const TradeStep& trade(model::Step step);
std::optional<model::Step> step_of_key(std::string_view key);
/// A carry and no step of its own: hanging up belongs to the drying that it begins.
inline constexpr std::string_view put_in = "put-in";

/// The room's times of the step, else the usual ones.
model::StepTime usual_time(const model::Room& room, model::Step step);

/// The same at this station, on a frame of this size, by these people: the exceptions of the room
/// file (docs/input.md, but), one after the other. Of several people the slowest counts.
model::StepTime time_here(const model::Room& room, model::Step step, model::StepTime usual,
                          const std::string& station, const model::Area& frame,
                          const std::vector<std::string>& people);

/// docs/input.md: "larger in either side", whichever way round a size is written.
bool larger(const model::Area& frame, const model::Area& limit);
/// 58 x 84 cm is 84 x 58 cm; to half a millimetre.
bool same_size(const model::Area& a, const model::Area& b);
/// One text for one size of a frame, whichever way round and in cm or inches it is written.
std::string frame_words(double a_cm, double b_cm);
std::string frame_words(const std::string& written);
/// A time of the plan for people: "Thu 26 Nov 17:24", seconds where they are not zero.
std::string clock_words(model::SimTime t);

}  // namespace sched::check::room
