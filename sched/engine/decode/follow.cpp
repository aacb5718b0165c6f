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

// When the block may begin by the plan: as long as all goes as planned, and where the plan's order
// or times are kept, at its planned time or as soon as what it waits for in the plan is over. Where
// the order is kept, not before that is booked which goes before something in it, if it was to be:
// in the plan its block begins sooner. A time to come: worth asking again then, or when one of
// those is booked or ends (release_followers). @pre its first operation that is left is planned.
Tick Decoder::gate(std::int32_t b) const {
    const Block& block = problem_.blocks[ix(b)];
    const std::int32_t op = problem_.ops_of(block)[ix(block.begun)];
    const Tick planned = plan_.baseline->start[ix(op)];
    const Range own = plan_.baseline->release_range[ix(op)];
    if (plan_.baseline->recourse == Recourse::Free && !plan_.all_on_time) return state_.now;
    const bool times = plan_.baseline->recourse == Recourse::Times;
    Tick opens = times ? planned : state_.now;
    Tick turn = state_.now;
    bool waits = false;
    for (std::int32_t k = own.begin; k < own.end; ++k) {
        const Release& x = plan_.baseline->releases[ix(k)];
        const std::size_t q = ix(x.operation);
        const bool booked = state_.is_placed[q] != 0;
        if (x.turn) {
            if (!booked) turn = never;
            if (booked) turn = std::max(turn, state_.placed.start[q]);
            continue;
        }
        waits = true;
        Tick over = plan_.baseline->start[q] + 1;  // unless it begins
        if (booked) {
            over = x.edge == core::Edge::Start     ? state_.placed.start[q]
                   : x.edge == core::Edge::WorkEnd ? state_.placed.work_end[q]
                                                   : state_.placed.end[q];
            over = over < 0 ? never : over + x.min;
        } else if (plan_.baseline->recourse == Recourse::Order) {
            over = never;
        }
        opens = std::max(opens, over);
    }
    if (plan_.baseline->recourse == Recourse::Order) {
        const auto ops = problem_.ops_of(block);
        for (std::size_t k = ix(block.begun) + 1; k < ops.size(); ++k) {
            plan_.for_forerunners(ops[k], [&](std::int32_t q) {
                const Block& theirs = problem_.blocks[ix(problem_.operations[ix(q)].block)];
                const bool sooner =
                    plan_.baseline->start[ix(problem_.ops_of(theirs).front())] < planned;
                if (sooner && state_.is_placed[ix(q)] == 0) turn = never;
            });
        }
    }
    return std::max(waits ? std::min(opens, planned) : planned, turn);
}

// The work takes as long as the plan says, as far as anybody can know. @pre plan_.as_planned.
bool Decoder::as_long_as_planned(std::int32_t op, const CompiledMode& m) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const Tick start = plan_.baseline->start[ix(op)], planned = plan_.baseline->work_end[ix(op)];
    if (m.coupled) return true;
    if (m.stages.size() > 0)
        return start + fits_.length_of(o, m, plan_.baseline->chosen[ix(o.chosen)], start, true) ==
               planned;
    if (!o.pausable) return start + m.work == planned;
    const std::span<const std::int32_t> chosen{plan_.baseline->chosen.data() + o.chosen,
                                               ix(m.needs.size())};
    return fits_.pausing_end(m, chosen, start) == planned;
}

// Who and what the plan names is there, this day too.
bool Decoder::open_as_planned(std::int32_t op, const CompiledMode& m) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const Tick start = plan_.baseline->start[ix(op)];
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
        const std::int32_t r = plan_.baseline->chosen[ix(o.chosen + n)];
        if (r < 0) return false;
        const CompiledResource& c = problem_.resources[ix(r)];
        if (!c.has_calendar) continue;
        const Tick end = o.pausable              ? start + 1
                         : need.whole && !o.open ? plan_.baseline->end[ix(op)]
                                                 : plan_.baseline->work_end[ix(op)];
        if (end <= start) continue;
        bool open = false;
        for (std::int32_t w = state_.window[ix(r)]; w < c.windows.end && !open; ++w) {
            const CompiledWindow& x = problem_.windows[ix(w)];
            open = x.from <= start && end <= x.to;
        }
        if (!open) return false;
    }
    return true;
}

// Operations `first`.. of the block exactly where the plan has them. As long as everything is as
// planned nobody is in their way, whatever is booked of those who will have left by then. False:
// nothing of them is booked, since something takes longer or is not there. @pre plan_.as_planned.
bool Decoder::put_as_planned(std::int32_t b, std::size_t first) {
    const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
    for (std::size_t k = first; k < ops.size(); ++k) {
        const CompiledOperation& o = problem_.operations[ix(ops[k])];
        const std::int32_t mode = plan_.baseline->mode[ix(ops[k])];
        if (mode < 0 || plan_.baseline->start[ix(ops[k])] < state_.now) return false;
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + mode)];
        if (!open_as_planned(ops[k], m) || !as_long_as_planned(ops[k], m)) return false;
    }
    plan_.sure = true;
    std::size_t k = first;
    for (; k < ops.size(); ++k) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[ix(op)];
        EarliestFit fit;
        fit.mode = plan_.baseline->mode[ix(op)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + fit.mode)];
        fit.start = plan_.baseline->start[ix(op)];
        fit.work_end = fit.early = plan_.baseline->work_end[ix(op)];
        fit.fits = true;
        const StartLimits limits = fits_.limits_of(op, o, m);
        if (fit.start < limits.low || fit.start > limits.high || fit.work_end > limits.latest_end)
            break;
        fits_.choice.batch = -1;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const std::int32_t r = plan_.baseline->chosen[ix(o.chosen + n)];
            fits_.choice.resources[ix(n)] = r;
            if (!problem_.resources[ix(r)].has_batch || plan_.baseline->batch[ix(op)] < 0) continue;
            for (std::size_t q = 0; q < state_.batches.size(); ++q) {
                const OpenBatch& batch = state_.batches[q];
                if (batch.members > 0 && batch.resource == r &&
                    plan_.baseline->batch[ix(batch.last_member)] == plan_.baseline->batch[ix(op)])
                    fits_.choice.batch = static_cast<std::int32_t>(q);
            }
        }
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t)
            fits_.choice.stores[ix(t - o.takes.begin)] =
                plan_.baseline->stores[ix(problem_.takes[ix(t)].index)];
        std::int32_t blamed = -1;
        Tick floor = 0;
        if (!bookings_.extend_holds(op, fit.start, blamed, floor)) {
            bookings_.unplace(op);  // takes back the holds already stretched for it
            break;
        }
        bookings_.place(op, fit);
    }
    plan_.sure = false;
    if (k == ops.size() && bookings_.consistent(b)) return true;
    while (k > first)
        bookings_.unplace(ops[--k]);
    return false;
}

// The block has begun on time, but something in it takes longer: nobody knows before its planned
// end, and from then on others cannot count on its people and places.
void Decoder::look_for_slips(std::int32_t b, std::size_t first) {
    const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
    for (std::size_t k = first; k < ops.size(); ++k) {
        const std::size_t op = ix(ops[k]);
        if (state_.placed.start[op] > plan_.baseline->start[op]) {
            plan_.slips_at = std::min(plan_.slips_at, plan_.baseline->start[op]);
            return;
        }
        if (state_.placed.work_end[op] > plan_.baseline->work_end[op]) {
            plan_.slips_at = std::min(plan_.slips_at, plan_.baseline->work_end[op]);
            return;
        }
    }
}

void Decoder::release_followers(std::int32_t op) {
    const Range own = plan_.baseline->follower_range[ix(op)];
    for (std::int32_t k = own.begin; k < own.end; ++k) {
        const std::int32_t b = plan_.baseline->followers[ix(k)];
        if (state_.done[ix(b)] != 0) continue;
        state_.waiting.wake(b);
        restart_ = std::min(restart_, state_.waiting.place_of(b));
    }
}

void Decoder::look_for_late() {
    const auto& order = plan_.baseline->order;
    while (plan_.next_planned < order.size() &&
           state_.done[ix(problem_.operations[ix(order[plan_.next_planned])].block)] != 0)
        ++plan_.next_planned;
    std::erase_if(plan_.wet, [&](std::int32_t op) { return state_.is_placed[ix(op)] == is_dry; });
    bool late = plan_.slips_at <= state_.now ||
                (plan_.next_planned < order.size() &&
                 plan_.baseline->start[ix(order[plan_.next_planned])] < state_.now);
    for (const std::int32_t op : plan_.wet)
        late |= state_.placed.work_end[ix(op)] <= state_.now;
    if (late) leave_known_way();
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
    if (plan_.baseline && plan_.baseline->start[ix(ops[0])] > -never && gate(b) > state_.now)
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
