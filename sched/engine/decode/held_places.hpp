#pragma once
// The places that work holds until its job moves on: who holds which, and whether a block that was
// just booked leaves a way out for all of them.

#include <cstdint>
#include <span>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/decode/deadlock_avoidance.hpp"
#include "sched/engine/decode/run.hpp"

namespace sched::engine {

class HeldPlaces {
public:
    explicit HeldPlaces(Run& run) : problem_(run.problem), state_(run.state) {}

    /// Visits the places (resource, units) that an open operation holds.
    template <class Visit>
    void for_each(std::int32_t op, Visit visit) const {
        const CompiledOperation& o = problem_.operations[ix(op)];
        const Range ns = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (problem_.needs[ix(n)].whole)
                visit(state_.placed.chosen[ix(o.chosen + n - ns.begin)],
                      problem_.needs[ix(n)].amount);
        }
    }
    /// The operation is among the holders from now on.
    void hold(std::int32_t op) { list(state_.holders, op); }
    void leave(std::int32_t op) {
        std::erase_if(state_.holders, [op](const auto& h) { return h.operation == op; });
    }
    /// What the job of block b still has ahead of it, by what is booked.
    void pass_exits(std::int32_t b);
    /// With these blocks booked: can all who hold a place open still come out?
    bool safe_after(std::span<const std::int32_t> blocks);
    bool all_come_out();

private:
    void list(std::vector<DeadlockAvoidance::Holder>& holders, std::int32_t op) const;
    void free_for_good();

    const CompiledProblem& problem_;
    Timelines& state_;
    DeadlockAvoidance test_;
    std::vector<std::int32_t> ending_;  // scratch: operations whose hold ends with what is booked
};

}  // namespace sched::engine
