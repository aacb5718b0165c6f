// Who holds which place until somebody takes it on, and whether a booking leaves all of them a way
// out.

#include "sched/engine/decode/held_places.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::engine {

// Each where it belongs by job and resource.
void HeldPlaces::list(std::vector<DeadlockAvoidance::Holder>& holders, std::int32_t op) const {
    const std::int32_t job = problem_.operations[ix(op)].job;
    if (job < 0) return;
    for_each(op, [&](std::int32_t r, std::int32_t amount) {
        const DeadlockAvoidance::Holder h{job, r, amount, op};
        auto at = holders.end();
        while (at != holders.begin() && h.before(*(at - 1)))
            --at;
        holders.insert(at, h);
    });
}

void HeldPlaces::free_for_good() {
    test_.free.resize(problem_.resources.size());
    for (std::size_t r = 0; r < problem_.resources.size(); ++r) {
        test_.free[r] = problem_.resources[r].capacity - state_.profile[r].finally_used();
    }
}

// With these blocks booked: can all who hold a place open still come out?
bool HeldPlaces::safe_after(std::span<const std::int32_t> blocks) {
    // Room for the largest need on all that it takes: whoever could come out before still can.
    bool tight = false;
    for (const std::int32_t b : blocks) {
        for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
            if (!problem_.operations[ix(op)].open) continue;
            for_each(op, [&](std::int32_t r, std::int32_t) {
                const std::int32_t left =
                    problem_.resources[ix(r)].capacity - state_.profile[ix(r)].finally_used();
                tight |= problem_.circular[ix(r)] != 0 && left < problem_.largest[ix(r)];
            });
        }
    }
    if (!tight) return true;
    free_for_good();
    // Holds that these blocks end, all of them: given back.
    ending_.clear();
    for (const std::int32_t b : blocks) {
        for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
            const CompiledOperation& o = problem_.operations[ix(op)];
            for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
                const CompiledLag& l = problem_.in_rows[ix(k)];
                if (l.cross && l.hold && state_.open_links[ix(l.from)] > 0)
                    ending_.push_back(l.from);
            }
        }
    }
    std::sort(ending_.begin(), ending_.end());
    std::size_t ended = 0;
    for (std::size_t i = 0; i < ending_.size();) {
        const std::int32_t op = ending_[i];
        std::int32_t links = 0;
        for (; i < ending_.size() && ending_[i] == op; ++i)
            ++links;
        if (links != state_.open_links[ix(op)]) continue;
        for_each(op, [&](std::int32_t r, std::int32_t amount) { test_.free[ix(r)] += amount; });
        ending_[ended++] = op;
    }
    ending_.resize(ended);
    auto& holders = test_.holders;
    holders.clear();
    for (const DeadlockAvoidance::Holder& h : state_.holders) {
        if (std::find(ending_.begin(), ending_.end(), h.operation) == ending_.end())
            holders.push_back(h);
    }
    for (const Standing& x : state_.standing) {
        if (std::find(blocks.begin(), blocks.end(), x.block) == blocks.end())
            list(holders, x.operation);
    }
    for (const std::int32_t b : blocks) {
        for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
            if (problem_.operations[ix(op)].open && !problem_.operations[ix(op)].begun)
                list(holders, op);
        }
        pass_exits(b);
    }
    return test_.safe_booked(problem_, state_.is_placed, state_.exits_ahead);
}

// What the job of block b still has ahead of it, by what is booked.
void HeldPlaces::pass_exits(std::int32_t b) {
    const std::int32_t job = problem_.blocks[ix(b)].job;
    if (job >= 0 && !state_.exits_ahead.empty())
        state_.exits_ahead[ix(job)] = exits_ahead(problem_, job, state_.is_placed);
}

// Can all who hold a place open come out?
bool HeldPlaces::all_come_out() {
    free_for_good();
    test_.holders = state_.holders;
    for (const Standing& x : state_.standing)
        list(test_.holders, x.operation);
    return test_.safe_booked(problem_, state_.is_placed, state_.exits_ahead);
}

}  // namespace sched::engine
