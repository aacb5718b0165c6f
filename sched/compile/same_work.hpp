#pragma once
// Two rooms of one scenario that differ in how many pots are mixed, or in a little else: which work
// of the one is which of the other, and a schedule of the one in the other.

#include <optional>
#include <vector>

#include "sched/compile/room_problem.hpp"
#include "sched/core/schedule.hpp"

namespace sched::compile {

/// By what they are, not by where they stand: the step of a screen, of a frame that comes back or
/// of the first, second, ... pot that is mixed of an emulsion; the pot by its name.
struct SameWork {
    std::vector<int> operation;  // per operation of the first room, in the second; -1: not there
    std::vector<int> store;      // the same
    std::size_t operations = 0;  // of the second
};
SameWork same_work(const RoomProblem& from, const RoomProblem& to);

/// @param schedule of the first room. @pre stations and people are the same in both.
/// @returns nullopt where the second has work that the first has not, or takes from a store that it
/// has not.
std::optional<core::Schedule> carried(const core::Schedule& schedule, const SameWork& same);

/// One value per operation of the first room becomes one per operation of the second.
/// @pre the second has no other work.
template <class T>
std::vector<T> carried(const std::vector<T>& values, const SameWork& same) {
    std::vector<T> out(values.empty() ? 0 : same.operations);
    for (std::size_t i = 0; i < values.size() && i < same.operation.size(); ++i) {
        if (same.operation[i] >= 0) out[static_cast<std::size_t>(same.operation[i])] = values[i];
    }
    return out;
}

}  // namespace sched::compile
