#pragma once
// Batches that are booked: which one an operation could still join, and whether its rectangle fits
// beside the others.

#include <cstdint>

#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/decode/timelines.hpp"

namespace sched::engine {

/// The operation fits into the batch beside its members. Never says yes wrongly; may say no to a
/// packing that only an exact search finds.
bool packs(const CompiledProblem& problem, const Timelines& state, std::int32_t batch,
           std::int32_t operation);

/// A member of the batch other than `besides` has chosen resource r, which has one unit: it serves
/// all of them.
bool minds(const CompiledProblem& problem, const Timelines& state, std::int32_t batch,
           std::int32_t r, std::int32_t besides);

/// A batch on r that starts in [from, start] and takes `operation` in this mode; the earliest. -1:
/// none. Sets `start`.
std::int32_t joinable(const CompiledProblem& problem, const Timelines& state,
                      std::int32_t operation, const CompiledMode& mode, std::int32_t r, Tick from,
                      Tick& start);

}  // namespace sched::engine
