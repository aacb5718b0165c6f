// A plan that is followed (baseline.hpp). As long as every block has begun at its planned time and
// nothing was longer than planned, the run is on the plan's way: a block goes exactly as planned or
// not yet, what stands in a place leaves it when the plan says, what dries takes as long as
// planned. The first thing that is late ends that (leave_known_way): what was booked on the
// strength of the plan is booked again as it is without one, and the plan is a list from then on.
// What is off the plan ends it before it is booked itself (pass), so it never counts on the plan.
// And blocks that need two people or two places at once, which keep their turn.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

void Decoder::release_followers(std::int32_t op) {
    const Range own = plan_.baseline->follower_range[ix(op)];
    for (std::int32_t k = own.begin; k < own.end; ++k) {
        const std::int32_t b = plan_.baseline->followers[ix(k)];
        if (state_.done[ix(b)] != 0) continue;
        state_.waiting.wake(b);
        restart_ = std::min(restart_, state_.waiting.place_of(b));
    }
}

// From here on nobody knows when what holds a place open will leave it, nor when what dries is dry:
// both count as always again, and what follows them within a block is booked again.
void Decoder::leave_known_way() {
    plan_.all_on_time = false;
    plan_.slips_at = never;
    for (const std::int32_t op : state_.open_operations) {
        Tick& until = plan_.hold_until[ix(op)];
        if (until >= never) continue;
        const CompiledOperation& o = problem_.operations[ix(op)];
        const Range ns = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (!problem_.needs[ix(n)].whole) continue;
            const std::int32_t r = state_.placed.chosen[ix(o.chosen + n - ns.begin)];
            state_.profile[ix(r)].add(until, never, problem_.needs[ix(n)].amount);
            plan_.promised.emplace_back(r, op);
        }
        until = never;
    }
    look_for_crowds(never);
    for (const std::int32_t op : plan_.wet) {
        if (state_.is_placed[ix(op)] == is_dry) continue;
        const CompiledOperation& o = problem_.operations[ix(op)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])];
        auto& f = state_.placed;
        const std::int32_t r = f.chosen[ix(o.chosen)];
        const Tick start = f.start[ix(op)];
        const Tick slow = std::max(start + fits_.length_of(o, m, r, start, true), state_.now + 1);
        if (slow <= f.work_end[ix(op)]) continue;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
            const Tick old = need.whole ? f.end[ix(op)] : f.work_end[ix(op)];
            const std::int32_t place = f.chosen[ix(o.chosen + n)];
            const Tick from = std::max(old, state_.now);
            // The place was promised to others, or it closes: this run has no schedule.
            const Profile& profile = state_.profile[ix(place)];
            const std::int32_t spare = problem_.resources[ix(place)].capacity - need.amount;
            const Tick free = o.pausable ? profile.earliest_taken(from, slow - from, spare)
                                         : profile.earliest(from, slow - from, spare);
            if (slow > from && free > from) give_up_day(op);
            state_.profile[ix(place)].add(from, slow, need.amount);
        }
        f.work_end[ix(op)] = slow;
        f.end[ix(op)] = std::max(f.end[ix(op)], slow);
        state_.early[ix(op)] = start + fits_.length_of(o, m, r, start, false);
        book_tail(op, ix(o.place) + 1, true);
    }
    plan_.wet.clear();
    take_again();
    for (const std::int32_t b : rests_) {
        if (problem_.midday && state_.done[ix(b)] == 0) standing_.stand(b);
    }
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        if (state_.done[b] == 0) state_.waiting.wake(static_cast<std::int32_t>(b));
    }
    restart_ = 0;
}

// By the plan others have been promised the places of those who would have left by then. That is
// no harm if they leave in time; whoever comes while they are still there makes it known then.
void Decoder::look_for_crowds(Tick by) {
    plan_.crowded_at = never;
    std::erase_if(plan_.promised, [&](const std::pair<std::int32_t, std::int32_t>& x) {
        const auto [r, op] = x;
        const Tick full =
            state_.profile[ix(r)].free_until(state_.now, never, problem_.resources[ix(r)].capacity);
        if (full <= by && by < never) give_up_day(op);
        plan_.crowded_at = std::min(plan_.crowded_at, full);
        return full >= never;
    });
}

// What is to be taken from a pot that the plan would have had by then is booked again. What stays
// where it is, since others share its exposure, would take what is not there: no schedule.
void Decoder::take_again() {
    const auto lacks = [&](std::size_t op) {
        const CompiledOperation& o = problem_.operations[op];
        if (o.takes.size() == 0 || o.begun || state_.is_placed[op] != is_booked ||
            state_.placed.start[op] < state_.now)
            return false;
        bool there = true;
        for (std::int32_t k = o.takes.begin; k < o.takes.end; ++k) {
            const Ledger& pot =
                state_.ledger[ix(state_.placed.stores[ix(problem_.takes[ix(k)].index)])];
            there &= pot.holds() && state_.placed.start[op] < pot.over();
        }
        return !there;
    };
    for (std::size_t op = 0; op < problem_.operations.size(); ++op) {
        const CompiledOperation& o = problem_.operations[op];
        if (o.place == 0 || !lacks(op)) continue;
        const auto ops = problem_.ops_of(problem_.blocks[ix(o.block)]);
        book_tail(ops[ix(o.place) - 1], ix(o.place), true);
    }
    for (std::size_t op = 0; op < problem_.operations.size() && !stuck_; ++op) {
        if (lacks(op)) give_up_day(static_cast<std::int32_t>(op));
    }
}

// The block could go but for people or places. For the rest of the pass it is booked where it could
// begin, so that what follows it in rank does not make it later; then it is taken out again, since
// what comes before it in rank may still need them.
void Decoder::keep_turn(std::int32_t b) {
    const Block& block = problem_.blocks[ix(b)];
    if (block.meets || block.begun > 0) return;
    const auto ops = problem_.ops_of(block);
    if (plan_.baseline && plan_.baseline->start[ix(ops[0])] > -never && way_.opens(b) > state_.now)
        return;
    const CompiledOperation& head = problem_.operations[ix(ops[0])];
    if (fits_.limits_of(ops[0], head, problem_.modes[ix(head.modes.begin)]).low > state_.now)
        return;
    if (std::find(keeping_.begin(), keeping_.end(), b) == keeping_.end()) keeping_.push_back(b);
    Tick found = never;
    if (!book(b, 0, never, false, found)) return;
    // It is given back whole, each operation with the end that it has by then: no list of what was
    // stretched for it may wait among those of others.
    bookings_.keep_stretched();
    kept_.push_back(b);
    for (const std::int32_t op : ops) {
        const std::int32_t batch = state_.placed.batch[ix(op)];
        if (batch >= 0) state_.batches[ix(batch)].family = -2;  // nobody joins
    }
    const Tick start = state_.placed.start[ix(ops[0])];
    Tick& last = kept_start_[ix(b)];
    if (last != start && last >= 0) {  // what waits for its end there may look again
        for (const std::int32_t op : ops) {
            const CompiledOperation& o = problem_.operations[ix(op)];
            const Range needs =
                problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
            for (std::int32_t n = 0; n < needs.size(); ++n)
                state_.waiting.freed(state_.placed.chosen[ix(o.chosen + n)]);
        }
    }
    last = start;
}

// Those at `from_place` in rank and behind are tried again, after what comes before them.
void Decoder::give_back(std::int32_t from_place) {
    std::size_t left = 0;
    for (const std::int32_t b : kept_) {
        if (state_.waiting.place_of(b) < from_place) {
            kept_[left++] = b;
            continue;
        }
        const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
        for (std::size_t k = ops.size(); k-- > 0;)
            bookings_.unplace(ops[k]);
        if (from_place >= 0) state_.waiting.wake(b);
    }
    kept_.resize(left);
    std::erase_if(keeping_, [&](std::int32_t b) { return state_.done[ix(b)] != 0; });
}

}  // namespace sched::engine
