#pragma once
// The best schedule of a small room with a drying clock, by trying everything: its own timing, by
// the definitions in sched/core/problem.hpp, nothing of engine, search or checker.

#include <cstdint>
#include <optional>

#include "sched/core/schedule.hpp"

namespace oracle {

/// What was tried: every schedule in which each operation starts at a whole second at which
/// something happens: a piece of work ends, a stage of drying ends, a resource opens, an order is
/// released. Waiting on purpose is among it (the next such second is always one of the choices).
/// A cost that is linear between such seconds has its least there; an order that is complete
/// exactly when it is due is the one exception, and a start between events may then be better by
/// less than one such interval.
struct RoomOptimum {
    std::optional<sched::core::Schedule> schedule;  // empty: none better than `upper`
    std::int64_t value = 0;                         // weighted tardiness [weight * s], or `upper`
    bool finished = false;    // false: `most_states` were not enough, `value` is no optimum
    std::int64_t states = 0;  // looked at
};

/// @param upper a value known to be reached; only better ones are looked for.
/// @pre objective: weighted tardiness first. Every job is a chain of operations of one mode, in
/// Problem order, by lags from End with min 0 and max 0 or none; whoever has a lag of max 0 behind
/// it may stretch without limit; the last one does not dry. Needs: any resources, calendars without
/// pauses; one shared clock at most an operation. No batches, stores, start windows, deadlines.
RoomOptimum best_of_room(const sched::core::Problem& problem, std::int64_t upper,
                         std::int64_t most_states);

}  // namespace oracle
