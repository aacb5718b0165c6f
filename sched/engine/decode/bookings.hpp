#pragma once
// What is booked of one operation: in the timelines of places, people and stores, in batches, and
// in the ends of what waits for it.

#include <cstdint>
#include <vector>

#include "sched/engine/decode/earliest_fit.hpp"
#include "sched/engine/decode/run.hpp"
#include "sched/engine/decode/standing_places.hpp"
#include "sched/engine/decode/waiting_batches.hpp"

namespace sched::engine {

class Bookings {
public:
    /// @param fits what it last chose is booked; gets what blocks a stretch.
    Bookings(Run& run, EarliestFits& fits, const WaitingBatches& groups,
             const StandingPlaces& standing)
        : run_(run),
          problem_(run.problem),
          state_(run.state),
          plan_(run.plan),
          fits_(fits),
          groups_(groups),
          standing_(standing) {
        stretched_.reserve(run.problem.operations.size());
    }

    /// Books the operation where `fit` says, with EarliestFits::choice.
    void place(std::int32_t op, const EarliestFit& fit);
    /// Takes back place() and the extend_holds() before it; in the reverse order.
    void unplace(std::int32_t op);
    /// Before `op` starts at `start`: those whose end waits for it stretch up to there.
    /// @returns false: their place is wanted by somebody else in between, so `blamed` has to start
    /// at `floor` or later.
    bool extend_holds(std::int32_t op, Tick start, std::int32_t& blamed, Tick& floor);
    /// What was stretched stays so: nothing of it will be taken back by unplace().
    void keep_stretched() { stretched_.clear(); }
    /// What booking forward cannot see: ends that grew after a follower was placed, batches whose
    /// members differ. @returns whether all of the block fits together.
    bool consistent(std::int32_t block) const;
    /// How often place() was called.
    std::int64_t placed() const { return placed_; }

private:
    struct Stretch {
        std::int32_t operation;
        Tick before, after;
        std::int32_t by;
    };

    void attend(std::int32_t op, const CompiledMode& m, Tick from, Tick to, std::int32_t r,
                std::int32_t amount);
    void batch_ends(std::int32_t batch, Tick end);
    bool stays_as_one(std::int32_t batch) const;

    Run& run_;
    const CompiledProblem& problem_;
    Timelines& state_;
    Following& plan_;
    EarliestFits& fits_;
    const WaitingBatches& groups_;
    const StandingPlaces& standing_;
    std::vector<Stretch> stretched_;  // in the order in which it was done
    std::int64_t placed_ = 0;
};

}  // namespace sched::engine
