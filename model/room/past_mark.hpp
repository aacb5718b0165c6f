#pragma once
// What was marked on past days: that a step began or was done, that a screen was dry or had to be
// made again. Plain values, as a CSV of marks says them (docs/tune.md).

#include <optional>
#include <string>

#include "model/base/diagnostic.hpp"
#include "model/base/time.hpp"
#include "model/room/room.hpp"

namespace model {

enum class MarkKind {
    Start,
    Done,
    Dry,
    Remake,
    Down,
    Up,
    Absent,
    Present,
    Film,
    Returned,
    Opened,
    Empty,
    Ready,
    Longer,
    First,
    Another,
    Undo,
    Posted
};

struct PastMark {
    SimTime at{};
    MarkKind mark = MarkKind::Done;
    std::string what;          // tag of a screen, an order, a station, a person or a pot
    std::optional<Step> step;  // start, done, dry; of a remake the step that it goes back to
    int round = 1;             // of a step that comes several times
    std::string station, person, reason, by, device;
    std::optional<SimTime> entered;  // when it was told; none: at once
    std::string id, undoes;
    SourcePlace place;
    friend bool operator==(const PastMark&, const PastMark&) = default;
};

}  // namespace model
