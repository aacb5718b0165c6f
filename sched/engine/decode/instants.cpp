// What happens as time goes on: something is dry, a place frees, a shift begins.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

// The last hold on `op` is set: its place is free from its end on.
void Decoder::close(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const Tick end = std::max(state_.placed.work_end[ix(op)], state_.open_end[ix(op)]);
    state_.placed.end[ix(op)] = end;
    const Range ns = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
    for (std::int32_t n = ns.begin; n < ns.end; ++n) {
        if (!problem_.needs[ix(n)].whole) continue;
        const std::int32_t r = state_.placed.chosen[ix(o.chosen + n - ns.begin)];
        const Tick until = plan_.hold_until[ix(op)];
        if (end <= until)
            state_.profile[ix(r)].add(end, until, -problem_.needs[ix(n)].amount);
        else
            state_.profile[ix(r)].add(until, end, problem_.needs[ix(n)].amount);
        freed(r);
        const CompiledResource& c = problem_.resources[ix(r)];
        // An open hold cannot be kept inside a window beforehand. On a simulated day windows end
        // because a station fails or a lamp warms up: what stands there stays.
        if (c.has_calendar && !o.pausable && !problem_.varies) {
            for (std::int32_t w = c.windows.begin; w < c.windows.end; ++w) {
                const CompiledWindow& x = problem_.windows[ix(w)];
                if (x.from <= state_.placed.start[ix(op)] && state_.placed.start[ix(op)] < x.to &&
                    end > x.to) {
                    failure_ = {Obstacle::Closed, core::OperationId{op}};
                    stuck_ = true;
                }
            }
        }
    }
    if (plan_.baseline) release_followers(op);
    auto& list = state_.open_operations;
    list.erase(std::find(list.begin(), list.end(), op));
    held_places_.leave(op);
    freed(waits_for_way_out);
}

// Something of `r` is free earlier than was known: whoever waits for it may look again.
void Decoder::freed(std::int32_t r) {
    state_.waiting.freed(r);
    restart_ = 0;
}

void Decoder::know_end(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = problem_.out_rows[ix(k)];
        if (l.cross && l.edge != core::Edge::Start)
            arrived(problem_.operations[ix(l.to)].block, true);
    }
}

void Decoder::dried(std::int32_t op, Tick when) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])];
    const Tick done = std::max(when, state_.placed.start[ix(op)] + m.work);
    --state_.wet;
    state_.is_placed[ix(op)] = is_dry;
    const Tick booked = state_.placed.work_end[ix(op)];
    if (o.known_end < never && done > o.known_end) {
        failure_ = {Obstacle::Window, core::OperationId{op}};
        stuck_ = true;
        return;
    }
    state_.placed.work_end[ix(op)] = done;
    state_.early[ix(op)] = done;
    if (done > problem_.horizon_end) {
        failure_ = {Obstacle::Horizon, core::OperationId{op}};
        stuck_ = true;
        return;
    }
    if (o.order >= 0 && done > problem_.order_deadline[ix(o.order)]) {
        failure_ = {Obstacle::Deadline, core::OperationId{op}};
        stuck_ = true;
        return;
    }
    for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
        const CompiledGive& give = problem_.gives[ix(g)];
        state_.ledger[ix(give.store)].add(done, give.amount);
        freed(waits_for_store);
    }
    if (!o.open) {
        Tick needed = done;
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.out_rows[ix(k)];
            if (l.edge == core::Edge::End && l.max < never && state_.is_placed[ix(l.to)]) {
                needed = std::max(needed, state_.placed.start[ix(l.to)] - l.max);
            }
        }
        const Tick end = state_.placed.end[ix(op)];
        for (Standing& s : state_.standing) {  // it stays, dry, until its block is booked
            if (s.operation != op) continue;
            needed = std::max(needed, state_.now);
            for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
                if (problem_.needs[ix(n)].whole)
                    state_.profile[ix(state_.placed.chosen[ix(o.chosen + n - m.needs.begin)])].add(
                        needed, s.from, problem_.needs[ix(n)].amount);
            }
            s.from = std::min(s.from, needed);
            state_.waiting.wake(o.block);
        }
        for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
            const CompiledNeed& need = problem_.needs[ix(n)];
            const std::int32_t r = state_.placed.chosen[ix(o.chosen + n - m.needs.begin)];
            state_.profile[ix(r)].add(std::max(state_.now, need.whole ? needed : done),
                                      need.whole ? end : booked, -need.amount);
            freed(r);
        }
        state_.placed.end[ix(op)] = needed;
    }
    if (plan_.baseline) release_followers(op);
    know_end(op);
    if (!awaiting_.empty()) tell_awaiting(op);
    if (o.place + 1 < problem_.blocks[ix(o.block)].operations.size()) book_again(op);
    // On the plan's way it was to take as long as planned. Dry sooner, its limits end sooner: what
    // can come neither in time nor sooner leads this run to no end.
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end && plan_.baseline; ++k) {
        const CompiledLag& l = problem_.out_rows[ix(k)];
        if (l.edge != core::Edge::WorkEnd || l.max >= never || !state_.is_placed[ix(l.to)])
            continue;
        if (state_.placed.start[ix(l.to)] > done + l.max) give_up_day(l.to);
    }
}

void Decoder::refresh_clock(std::int32_t r) {
    DryingClock& c = state_.clock[ix(r)];
    if (!c.dry().empty()) {
        // Taken one by one: what follows may enter this clock again.
        for (std::size_t i = 0; i < c.dry().size(); ++i) {
            const DryingClock::Dry d = c.dry()[i];
            dried(static_cast<std::int32_t>(d.who), d.at);
        }
        c.clear_dry();
    }
    const auto next = c.next_change();
    state_.clock_next[ix(r)] = next ? *next : never;
}

// Windows that are over by now.
void Decoder::pass_windows() {
    state_.window_over = never;
    for (std::size_t r = 0; r < state_.window.size(); ++r) {
        std::int32_t& w = state_.window[r];
        const CompiledResource& c = problem_.resources[r];
        while (w < c.windows.end && problem_.windows[ix(w)].to <= state_.now)
            ++w;
        if (w < c.windows.end)
            state_.window_over = std::min(state_.window_over, problem_.windows[ix(w)].to);
    }
}

// Somebody was to leave a place by now, nobody has come for him, and another one comes in.
bool Decoder::somebody_overstays() const {
    return std::any_of(
        state_.open_operations.begin(), state_.open_operations.end(), [&](std::int32_t op) {
            if (plan_.hold_until[ix(op)] > state_.now) return false;
            bool full = false;
            held_places_.for_each(op, [&](std::int32_t r, std::int32_t amount) {
                const std::int32_t spare = problem_.resources[ix(r)].capacity - amount;
                full |= state_.profile[ix(r)].free_until(state_.now, state_.now + 1, spare) <=
                        state_.now;
            });
            return full;
        });
}

// To the next instant at which something happens or is worth trying.
bool Decoder::advance() {
    if (plan_.baseline && plan_.all_on_time && somebody_overstays()) {
        leave_known_way();
        return true;
    }
    if (plan_.crowded_at <= state_.now) {
        look_for_crowds(state_.now);
        if (stuck_) return true;
    }
    Tick next = state_.entries.empty() ? never : state_.entries.top().time;
    for (const std::int32_t r : state_.clocks)
        next = std::min(next, state_.clock_next[ix(r)]);
    next = std::min({next, state_.waiting.next_time(), next_asked(), plan_.crowded_at});
    // Whether it is dry when the plan says is looked at just then: what follows is booked there.
    if (plan_.baseline && plan_.all_on_time) {
        next = std::min(next, plan_.slips_at);
        for (const std::int32_t op : plan_.wet)
            next = std::min(next, state_.placed.work_end[ix(op)]);
    }
    if (next >= pause_ && pause_ < never) {
        paused_ = true;
        return true;
    }
    if (next > problem_.horizon_end && leave_waiting_batch()) return true;
    if (next > problem_.horizon_end && tell_all()) return true;
    if (next >= never) return false;
    if (next > problem_.horizon_end) {
        failure_ = {
            Obstacle::Horizon,
            core::OperationId{
                state_.waiting.nobody()
                    ? run_.obstacle_at
                    : problem_
                          .ops_of(
                              problem_.blocks[ix(state_.waiting.block_at(state_.waiting.next(0)))])
                          .front()}};
        return false;
    }
    state_.now = std::max(state_.now, next);
    state_.waiting.advance(state_.now);
    for (std::size_t k = 0; k < state_.asked.size(); ++k) {
        if (state_.asked[k] > -never && state_.asked[k] <= state_.now) tell(k);
    }
    while (state_.batches_over < state_.batches.size() &&
           state_.batches[state_.batches_over].start < state_.now)
        ++state_.batches_over;
    // Forgetting only keeps the arrays short: now and then is soon enough.
    if ((counters_.instants & 1) == 0) {
        for (std::size_t r = 0; r < state_.profile.size(); ++r) {
            if (problem_.resources[r].walk > 0)
                state_.profile[r].forget_walked_before(state_.now);
            else
                state_.profile[r].forget_before(state_.now);
        }
    }
    if (state_.now >= state_.window_over) pass_windows();
    for (const std::int32_t r : state_.clocks) {
        if (state_.clock_next[ix(r)] > state_.now) continue;
        state_.clock[ix(r)].advance(state_.now);
        refresh_clock(r);
    }
    while (!state_.entries.empty() && state_.entries.top().time <= state_.now) {
        const Event e = state_.entries.pop();
        const auto op = static_cast<std::int32_t>(e.whom);
        if (e.what == comes_to_place) {  // a block (first_come)
            if (meets_waiting_batch(op)) enter(op);
            continue;
        }
        if (state_.is_placed[ix(op)] != is_booked || state_.placed.start[ix(op)] != e.time)
            continue;  // moved
        const CompiledOperation& o = problem_.operations[ix(op)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])];
        const std::int32_t r = state_.placed.chosen[ix(o.chosen)];
        state_.is_placed[ix(op)] = is_entered;
        DryingClock& c = state_.clock[ix(r)];
        if (c.now() < state_.now) {
            c.advance(state_.now);
            refresh_clock(r);
        }
        c.enter(e.whom, problem_.stages_of(m));
        refresh_clock(r);
    }
    return true;
}

}  // namespace sched::engine
