#pragma once
// One row a step: how long it takes where the room file does not say, which light it stands, what
// must be said on the sheet. A new step or limit is a new row here, nothing else.
// In every step somebody is there for the attended part, and nobody for the standing after it.

#include <optional>
#include <span>

#include "model/room/room.hpp"

namespace model::route {

/// What can hurt at this step; the sheets print the matching caution.
enum class Hazard { None, Chemical, PressureWater, Ultraviolet, WarmCabinet };

struct StepRow {
    Step step;
    StepTime default_time;  // [M] figures of the trade, typical; every one is a setting
    bool light_safe;        // between coat and wash-out: yellow light only [P]
    bool dries;             // may follow the drying clock
    Hazard hazard;
};

/// All steps, in the order of the enum.
std::span<const StepRow> step_rows();
const StepRow& row_of(Step step);

/// The room's time for the step, or the row's default. A plan that says how long it is coated wins
/// over the step's time, whole: the two never add up.
StepTime time_of(const Room& room, Step step, const CoatPlan* plan = nullptr);

/// Nothing is carried by nobody, even where the room file says 0 s.
inline constexpr Seconds least_hands{1};

enum class From { Start, WorkEnd, End };

/// A limit between two steps that follow each other on a screen's way. The figures come from the
/// room.
struct LimitRow {
    Step from;
    Step to;
    From edge;
    std::optional<Seconds> (*min)(const Room&);  // nullptr: 0
    std::optional<Seconds> (*max)(const Room&);  // nullptr: none
    const char* words;                           // for people: why
};
std::span<const LimitRow> limit_rows();

}  // namespace model::route
