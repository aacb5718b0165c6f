#pragma once
// The way of a plan that is followed (baseline.hpp): when its blocks may begin, and whether the day
// still is what the plan says. What becomes of the run once it is not: follow.cpp.

#include <cstdint>

#include "sched/engine/decode/bookings.hpp"
#include "sched/engine/decode/earliest_fit.hpp"
#include "sched/engine/decode/run.hpp"

namespace sched::engine {

class PlansWay {
public:
    PlansWay(Run& run, EarliestFits& fits, Bookings& bookings)
        : problem_(run.problem),
          state_(run.state),
          plan_(run.plan),
          fits_(fits),
          bookings_(bookings) {}

    /// When the block may begin by the plan; never: not before another one is booked.
    /// @pre its first operation that is left is planned.
    Tick opens(std::int32_t block) const;
    /// Books operations `first`.. of the block exactly where the plan has them. @returns false if
    /// something takes longer or is not there; then nothing of them is booked.
    /// @pre Following::as_planned.
    bool put(std::int32_t block, std::size_t first);
    /// The block has begun on time; notes when it will show that something in it takes longer.
    void note_slips(std::int32_t block, std::size_t first);
    /// The run has left the plan's way by now.
    bool late();

private:
    bool as_long_as_planned(std::int32_t op, const CompiledMode& m) const;
    bool open_as_planned(std::int32_t op, const CompiledMode& m) const;

    const CompiledProblem& problem_;
    Timelines& state_;
    Following& plan_;
    EarliestFits& fits_;
    Bookings& bookings_;
};

}  // namespace sched::engine
