#pragma once
// What stands where in the middle of the day, as state.yaml says it. Plain values; what they mean
// for a plan is settled in sched/compile.

#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/base/time.hpp"
#include "model/room/room.hpp"

namespace model {

/// One screen. Exactly one of `in`, `done` and `back_to` is given. Times of day of the plan's day.
struct ScreenNow {
    std::string screen;         // its tag
    std::vector<Step> in;       // it is in this step since
    std::vector<Step> done;     // this step is done since, nothing after it has begun
    std::vector<Step> back_to;  // it has failed, or never came so far: this step and all after it
                                // are still to be done
    int round = 1;              // of a step that comes several times
    std::optional<Seconds> since, until;
    std::string at;  // station; empty: as planned
    std::string by;  // person; empty: as planned
    SourcePlace place;
    bool assumed = false;  // nobody said so: a mark is missing
    bool failed = false;   // goes back because it is made again
    friend bool operator==(const ScreenNow&, const ScreenNow&) = default;
};

/// A person who is not there, or a station that is out of work.
struct AwayNow {
    std::string name;
    std::optional<Seconds> from;   // absent: from now
    std::optional<Seconds> until;  // absent: for the rest of the day
    SourcePlace place;
    friend bool operator==(const AwayNow&, const AwayNow&) = default;
};

/// The film of an order is there, or will be, whatever orders.csv says.
struct FilmNow {
    std::string order;
    std::optional<Seconds> from;  // absent: it is there
    SourcePlace place;
    friend bool operator==(const FilmNow&, const FilmNow&) = default;
};

/// A pot that was opened, or is empty, in the day.
struct PotState {
    std::string pot;
    std::optional<Seconds> opened, empty;  // since; one of them
    std::string emulsion{};                // in it, once it is known
    SourcePlace place{};
    friend bool operator==(const PotState&, const PotState&) = default;
};

/// A frame that is back from the press, or will be, whatever frames.csv says.
struct ReturnedNow {
    std::string frame;            // tag of a screen or of a frame that returns (R2), or its size
    std::optional<Seconds> from;  // absent: it is there
    SourcePlace place{};
    friend bool operator==(const ReturnedNow&, const ReturnedNow&) = default;
};

struct RoomState {
    std::vector<ScreenNow> screens;
    std::vector<AwayNow> people, stations;
    std::vector<FilmNow> films;
    std::vector<PotState> pots;
    std::vector<ReturnedNow> returned;
    SourcePlace place;
    /// By marks: of these screens there are some. Marks are forgotten; where more screens would be
    /// at a station than it has places, some have gone on, or not come yet. None: by hand; then
    /// what cannot be is refused.
    std::optional<std::vector<std::string>> marked;
    friend bool operator==(const RoomState&, const RoomState&) = default;
};

}  // namespace model
