#pragma once
// Work that may be left undone, put into what a finished schedule leaves free: nothing of that
// schedule moves, so no order can come later.

#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::search {

/// Operations that are done whole or not at all, in their order.
using FillerPart = std::vector<core::OperationId>;
/// Parts that follow each other: a later one needs those before it.
using Filler = std::vector<FillerPart>;

struct FillIn {
    core::Schedule schedule;         // `held`, then the operations of the parts that found room
    std::vector<std::size_t> parts;  // per filler: how many of its parts, from the first
};

/// Puts fillers one after the other, each operation as early as crew, places and lags let it, on
/// whole minutes if it must wait. Nobody works overtime for them, and each ends by `until`.
/// The order of `fillers` decides who comes first.
/// @param problem with the fillers as its last operations. Of these it reads modes without stages
/// or batches, time lags, start windows and same-resource rules; a filler that something held
/// must follow, or that is bound otherwise, is left out.
/// @param held one placement per operation that is no filler.
FillIn fill_in(const core::Problem& problem, const core::Schedule& held,
               const std::vector<Filler>& fillers, core::SimTime until);

}  // namespace sched::search
