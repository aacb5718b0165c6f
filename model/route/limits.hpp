#pragma once
// The limits of the trade between two steps that follow each other on a screen's way: one row each.
// A new limit is a new row here; DEVELOPERS.md says what else it needs.

#include <optional>
#include <span>

#include "model/room/room.hpp"

namespace model::route {

enum class From { Start, WorkEnd, End };

/// The figures come from the room.
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
