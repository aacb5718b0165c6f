#pragma once
// How a run stands with the plan that it follows (follow.cpp).

#include <cstdint>
#include <utility>
#include <vector>

#include "sched/engine/baseline.hpp"

namespace sched::engine {

struct Following {
    const Baseline* baseline = nullptr;  // nullptr: no plan is followed

    bool as_planned = false;        // the block under work goes as the plan has it, or not at all
    bool on_time = false;           // ... and begins at its planned time
    bool sure = false;              // what is put is the plan: nobody else is in the way
    bool all_on_time = true;        // every block so far has begun at its planned time
    std::size_t next_planned = 0;   // into Baseline::order: the first that has not
    std::vector<std::int32_t> wet;  // dries on the plan's way, booked as long as planned
    Tick slips_at = never;          // when it shows that something takes longer than planned
    std::vector<Tick> hold_until;   // per operation: an open hold is booked so far; else never
    // Places promised to others that the plan would free, and who is still there.
    std::vector<std::pair<std::int32_t, std::int32_t>> promised;
    Tick crowded_at = never;          // the first instant at which one of them is too full
    std::vector<char> began_on_time;  // per block

    /// Everything has gone as planned so far, and the block under work is to do so too: what holds
    /// a place open will leave it when the plan says so.
    bool known_way() const { return as_planned && on_time && all_on_time; }
    /// Visits who goes before the operation at a place or person of the plan, where its order is
    /// kept. @pre baseline
    template <class Visit>
    void for_forerunners(std::int32_t operation, Visit visit) const {
        const Range own = baseline->release_range[static_cast<std::size_t>(operation)];
        for (std::int32_t k = own.begin; k < own.end; ++k) {
            const Release& x = baseline->releases[static_cast<std::size_t>(k)];
            if (x.turn) visit(x.operation);
        }
    }
};

}  // namespace sched::engine
