#pragma once
// Limits of hours that are not booked ahead (loose_limits.cpp): which of them run, what they are
// for, and by when that must begin. Reads the run under way and books nothing.

#include <cstdint>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/decode/earliest_fit.hpp"
#include "sched/engine/decode/run.hpp"

namespace sched::engine {

class RunningLimits {
public:
    RunningLimits(const Run& run, const EarliestFits& fits)
        : problem_(run.problem), state_(run.state), fits_(fits) {}

    /// Visits the loose limits that run from what block b has booked.
    template <class Visit>
    void for_limits_of(const Block& block, Visit visit) const {
        for (const std::int32_t op : problem_.ops_of(block)) {
            const CompiledOperation& o = problem_.operations[ix(op)];
            for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
                const CompiledLag& l = problem_.out_rows[ix(k)];
                if (l.loose) visit(op, l);
            }
        }
    }
    /// What block `b` will hold until somebody takes it on: each place, by the first way to do it.
    template <class Visit>
    void for_open_needs(std::int32_t b, Visit visit) const {
        for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
            const CompiledOperation& o = problem_.operations[ix(op)];
            if (!o.open) continue;
            const CompiledMode& m = problem_.modes[ix(o.modes.begin)];
            for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
                if (problem_.needs[ix(n)].whole) visit(o, m, problem_.needs[ix(n)]);
            }
        }
    }
    /// How many run for what has not begun.
    std::int32_t count() const;
    /// How many units of the need are free for good, in all its places.
    std::int32_t left_for_good(const CompiledNeed& need) const;
    /// Units of resource r that others than `block` have been promised: what their limits run for
    /// goes there.
    std::int32_t promised(std::int32_t r, const Block& block) const;
    /// Who finds all places taken by those before waits until one of them is dry: block `b`, after
    /// `op`, from `at` on. In seconds.
    Tick queue_for_place(std::int32_t b, std::int32_t op, Tick at) const;
    /// The last moment at which what limit `row` (into out_rows) is for can begin, as far as
    /// somebody is there for it. @pre forget() when the run began.
    Tick due_by(std::int32_t row);
    void forget() { known_.clear(); }
    /// From when on a limit that runs for the block has been missed; never: all have been.
    Tick missed_after(const Block& block) const;

private:
    std::int32_t given_back(const CompiledNeed& need, std::int32_t own) const;
    Tick last_moment(const CompiledLag& limit, Tick ends) const;

    const CompiledProblem& problem_;
    const Timelines& state_;
    const EarliestFits& fits_;
    struct Known {  // asked for at each instant, and the same until the limit moves
        Tick ends = -never, due = 0;
    };
    std::vector<Known> known_;  // by row
};

}  // namespace sched::engine
