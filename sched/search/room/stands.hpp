#pragma once
// Waiting where the work was done. The decoder books attended work together with what has to follow
// at once, so a screen is only coated when its place in the cabinet is sure. A `Problem` allows
// more: it may stand on the coating stand until a slot is free. Said as an operation of its own,
// without work, that holds the place, the decoder can plan that too.

#include <optional>
#include <utility>
#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::search {

struct StandsProblem {
    core::Problem problem;  // the operations of the original keep their numbers, stands follow
    std::vector<std::pair<std::size_t, std::size_t>> stands;  // who worked, and how it stands
};

/// @returns nullopt if nobody could stand anywhere that the decoder does not know already.
std::optional<StandsProblem> with_stands(const core::Problem& problem);

/// A schedule of `stands.problem` as one of the original: it stretches for as long as it stood.
core::Schedule without_stands(const StandsProblem& stands, const core::Schedule& schedule);

}  // namespace sched::search
