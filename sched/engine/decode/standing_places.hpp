#pragma once
// In the middle of the day: what has begun stands where it is until the rest of its block is
// booked, and nobody else gets its place.

#include <cstdint>

#include "sched/core/index.hpp"
#include "sched/engine/decode/run.hpp"

namespace sched::engine {

class StandingPlaces {
public:
    explicit StandingPlaces(Run& run) : problem_(run.problem), state_(run.state) {}

    /// Places that the rest of block b must take over stay taken until it is booked. @returns false
    /// if somebody else has booked one of them.
    bool stand(std::int32_t b);
    /// Visits the places (Standing, resource, units) that stand for the block.
    template <class Visit>
    void for_each(std::int32_t block, Visit visit) const {
        for (const Standing& s : state_.standing) {
            if (s.block != block && !shares_with(s.operation, block)) continue;
            const CompiledOperation& o = problem_.operations[ix(s.operation)];
            const Range ns =
                problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(s.operation)])].needs;
            for (std::int32_t n = ns.begin; n < ns.end; ++n) {
                if (problem_.needs[ix(n)].whole)
                    visit(s, state_.placed.chosen[ix(o.chosen + n - ns.begin)],
                          problem_.needs[ix(n)].amount);
            }
        }
    }
    /// The operation, or one in the same batch, stands.
    bool stands(std::int32_t op) const;
    /// The block is about to be booked and takes its places over (-1); it was not, they stay taken
    /// (1). What was booked keeps nothing standing.
    void lift(std::int32_t block, std::int32_t sign);
    /// The block is booked. Visits its places (resource), which have an end now.
    template <class Visit>
    void leave(std::int32_t block, Visit visit) {
        for_each(block, [&](const Standing&, std::int32_t r, std::int32_t) { visit(r); });
        std::erase_if(state_.standing, [&](const Standing& s) {
            return s.block == block || shares_with(s.operation, block);
        });
    }

private:
    bool shares_with(std::int32_t op, std::int32_t block) const;
    const CompiledProblem& problem_;
    Timelines& state_;
};

}  // namespace sched::engine
