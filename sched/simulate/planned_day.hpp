#pragma once
// A day simulated by the order of a plan that was made for it the evening before, without knowing
// its random variation. Seen in this folder only.

#include <cstdint>

#include "sched/simulate/executor.hpp"
#include "sched/simulate/realise.hpp"

namespace sched::study {

/// Plans what is known (`known`: the same orders as `reality`, no random variation in it) by a
/// short search that aims to be ready `margin` before the due times, and lives `reality` in the
/// order of that plan's starts, as "follow" does (replicate.hpp). Remakes take their turn from the
/// moment they failed, rush orders from the moment they came.
/// @param reality consumed: its factors are applied.  @param schedules tried by the search, > 0.
/// @returns not complete also when nothing could be planned.
SimulatedDay live_planned(Reality& reality, Reality known, std::int64_t schedules,
                          std::uint64_t seed, core::Seconds margin);

}  // namespace sched::study
