// Places that the rest of a block must take over, at the moment of a plan in the middle of the day.

#include "sched/engine/decode/standing_places.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::engine {

// Places that the rest of block b must take over stay taken until it is booked. False: somebody
// else has booked one of them.
bool StandingPlaces::stand(std::int32_t b) {
    const Block& block = problem_.blocks[ix(b)];
    bool free = true;
    for (std::int32_t k = 0; k < block.begun; ++k) {
        const std::int32_t op = problem_.ops_of(block)[ix(k)];
        const CompiledOperation& o = problem_.operations[ix(op)];
        if (o.open) continue;  // held until the next block anyway
        bool holds = false;
        for (std::int32_t q = o.lags_out.begin; q < o.lags_out.end; ++q) {
            const CompiledLag& l = problem_.out_rows[ix(q)];
            holds |= !l.cross && l.edge == core::Edge::End && l.max < never &&
                     !problem_.operations[ix(l.to)].begun;
        }
        // One member of a batch answers for its place.
        if (!holds || stands(op)) continue;
        const Tick from = std::max(state_.placed.end[ix(op)], state_.now);
        const Range ns = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
        state_.standing.push_back({op, b, from, never});
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            const CompiledNeed& need = problem_.needs[ix(n)];
            if (!need.whole) continue;
            const std::int32_t r = state_.placed.chosen[ix(o.chosen + n - ns.begin)];
            const std::int32_t spare = problem_.resources[ix(r)].capacity - need.amount;
            Tick& leave_by = state_.standing.back().leave_by;
            leave_by = std::min(leave_by, state_.profile[ix(r)].free_until(from, never, spare));
            free &= leave_by >= never;
            state_.profile[ix(r)].add(from, never, need.amount);
        }
    }
    return free;
}

bool StandingPlaces::stands(std::int32_t op) const {
    const std::int32_t batch = state_.placed.batch[ix(op)];
    return std::any_of(state_.standing.begin(), state_.standing.end(), [&](const Standing& x) {
        return x.operation == op || (batch >= 0 && state_.placed.batch[ix(x.operation)] == batch);
    });
}

// Some begun operation of the block is in one batch with `op`.
bool StandingPlaces::shares_with(std::int32_t op, std::int32_t block) const {
    const std::int32_t batch = state_.placed.batch[ix(op)];
    const Block& of = problem_.blocks[ix(block)];
    for (std::int32_t k = 0; k < of.begun && batch >= 0; ++k) {
        if (state_.placed.batch[ix(problem_.ops_of(of)[ix(k)])] == batch) return true;
    }
    return false;
}

// -1: the block is about to be booked and takes its places over; 1: it was not, they stay taken.
// What was booked keeps nothing standing.
void StandingPlaces::lift(std::int32_t block, std::int32_t sign) {
    for_each(block, [&](const Standing& s, std::int32_t r, std::int32_t amount) {
        state_.profile[ix(r)].add(s.from, never, sign * amount);
    });
}

}  // namespace sched::engine
