#pragma once
// From marks to where everything stands at a moment, in the words of state.yaml (model/room/state):
// only what is otherwise than the posted plan says.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/room/state.hpp"
#include "sched/journal/so_far.hpp"

namespace sched::journal {

/// A step of a screen as the posted plan has it, from its first hand to the end of its work.
struct PlannedStep {
    std::string step;  // key
    int round = 1;
    SimTime start{}, end{};
    std::string station{}, person{};         // first of them; empty: nowhere, nobody
    int places = 1;                          // that it takes there
    std::optional<int> batch{};              // that shares them
    std::optional<SimTime> out{}, out_by{};  // what dries: taken out from when till when
};
/// A screen's steps in the plan, in order; bringing it to where it dries belongs to the drying, as
/// does taking it out, and other carrying is left out.
struct Way {
    std::string tag;
    std::vector<PlannedStep> steps;
};
const Way* way_of(const std::vector<Way>& ways, const std::string& tag);

struct Moment {
    SimTime from{};  // of the day: marks before it do not count (so_far)
    SimTime now{};
    std::int64_t seen = 0;                // the last entry that the posted plan took account of
    std::optional<SimTime> seen_now;      // the moment that it was made at; none: before the day
    std::map<std::string, int> places{};  // of the stations; those not named have room enough
};

/// A screen is spoken of if something was entered about it (or taken back) that the posted plan did
/// not know, unless its marks say to the minute what the plan says. Where it is follows from its
/// last mark; a coat, mesh or stencil that is done with and is to dry next hangs since then.
/// Where more would be at a station than there is room for, a mark is missing: what is not marked
/// has not begun there yet, and of marked ones the first has gone on when the last came.
/// @param ways of the posted plan; empty: none.
model::RoomState present(const std::vector<Entry>& entries, const std::vector<Way>& ways,
                         const Moment& moment);

/// The drying that a step leads to wherever it is done; "" where it need not.
std::string drying_after(const std::string& step);

/// The step that a mark without one means: of Start the next of the screen, of Done the one that is
/// begun, else the next, of Dry the one that is drying, else the next that dries. What is next
/// follows from the marks of the screen, without any from the plan's clock at `t`.
/// @returns nullptr: the way is at its end, or has no such step.
const PlannedStep* meant_step(const Way& way, const ScreenSoFar* marks, Mark mark, SimTime t);

}  // namespace sched::journal
