// What happens as time goes on: something is dry, a place frees, a shift begins; and whether a
// block that was just booked leaves a way to leave for all who hold a place.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

namespace {

constexpr char placed_only = 1, entered = 2, dry_now = 3;

}  // namespace

// With these blocks booked: can all who hold a place open still come out?
bool Decoder::safe_after(std::span<const std::int32_t> blocks) {
    const auto each_place = [&](std::int32_t op, auto&& visit) {
        const CompiledOperation& o = problem_.operations[ix(op)];
        const Range ns = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (problem_.needs[ix(n)].whole)
                visit(state_.placed.chosen[ix(o.chosen + n - ns.begin)],
                      problem_.needs[ix(n)].amount);
        }
    };
    // Room for the largest need on all that it takes: whoever could come out before still can.
    bool tight = false;
    for (const std::int32_t b : blocks) {
        for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
            if (!problem_.operations[ix(op)].open) continue;
            each_place(op, [&](std::int32_t r, std::int32_t) {
                const std::int32_t left =
                    problem_.resources[ix(r)].capacity - state_.profile[ix(r)].finally_used();
                tight |= problem_.circular[ix(r)] != 0 && left < problem_.largest[ix(r)];
            });
        }
    }
    if (!tight) return true;
    deadlock_avoidance_.free.resize(problem_.resources.size());
    for (std::size_t r = 0; r < problem_.resources.size(); ++r) {
        deadlock_avoidance_.free[r] =
            problem_.resources[r].capacity - state_.profile[r].finally_used();
    }
    deadlock_avoidance_.holders.clear();
    const auto hold = [&](std::int32_t op) {
        const std::int32_t job = problem_.operations[ix(op)].job;
        if (job < 0) return;
        each_place(op, [&](std::int32_t r, std::int32_t amount) {
            deadlock_avoidance_.holders.push_back({job, r, amount});
        });
    };
    for (const std::int32_t op : state_.open_operations) {
        std::int32_t closing = 0;  // holds that these blocks end
        const CompiledOperation& o = problem_.operations[ix(op)];
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.lags[ix(problem_.lags_out[ix(k)])];
            if (!l.cross || !l.hold) continue;
            const std::int32_t to = problem_.operations[ix(l.to)].block;
            if (std::find(blocks.begin(), blocks.end(), to) != blocks.end()) ++closing;
        }
        const bool closes = closing > 0 && closing == state_.open_links[ix(op)];
        if (closes) {
            each_place(op, [&](std::int32_t r, std::int32_t amount) {
                deadlock_avoidance_.free[ix(r)] += amount;
            });
        } else {
            hold(op);
        }
    }
    for (const Standing& x : state_.standing) {
        if (std::find(blocks.begin(), blocks.end(), x.block) == blocks.end()) hold(x.operation);
    }
    for (const std::int32_t b : blocks) {
        for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
            if (problem_.operations[ix(op)].open && !problem_.operations[ix(op)].begun) hold(op);
        }
    }
    std::sort(deadlock_avoidance_.holders.begin(), deadlock_avoidance_.holders.end(),
              [](const DeadlockAvoidance::Holder& x, const DeadlockAvoidance::Holder& y) {
                  return x.job < y.job || (x.job == y.job && x.resource < y.resource);
              });
    return deadlock_avoidance_.safe_booked(problem_, state_.is_placed);
}

// The last hold on `op` is set: its place is free from its end on.
void Decoder::close(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const Tick end = std::max(state_.placed.work_end[ix(op)], state_.open_end[ix(op)]);
    state_.placed.end[ix(op)] = end;
    const Range ns = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
    for (std::int32_t n = ns.begin; n < ns.end; ++n) {
        if (!problem_.needs[ix(n)].whole) continue;
        const std::int32_t r = state_.placed.chosen[ix(o.chosen + n - ns.begin)];
        const Tick until = hold_until_[ix(op)];
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
    if (baseline_) release_followers(op);
    auto& list = state_.open_operations;
    list.erase(std::find(list.begin(), list.end(), op));
    freed(-2);
}

// Something of `r` is free earlier than was known: whoever waits for it may look again.
void Decoder::freed(std::int32_t r) {
    state_.waiting.freed(r);
    restart_ = 0;
}

void Decoder::know_end(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = problem_.lags[ix(problem_.lags_out[ix(k)])];
        if (l.cross && l.edge != core::Edge::Start)
            arrived(problem_.operations[ix(l.to)].block, true);
    }
}

void Decoder::dried(std::int32_t op, Tick when) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])];
    const Tick done = std::max(when, state_.placed.start[ix(op)] + m.work);
    --state_.wet;
    state_.is_placed[ix(op)] = dry_now;
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
        freed(-3);
    }
    if (!o.open) {
        Tick needed = done;
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.lags[ix(problem_.lags_out[ix(k)])];
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
    if (baseline_) release_followers(op);
    know_end(op);
    if (o.place + 1 < problem_.blocks[ix(o.block)].operations.size()) book_again(op);
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

// To the next instant at which something happens or is worth trying.
bool Decoder::advance() {
    Tick next = state_.entries.empty() ? never : state_.entries.top().time;
    for (const std::int32_t r : state_.clocks)
        next = std::min(next, state_.clock_next[ix(r)]);
    next = std::min(next, state_.waiting.next_time());
    if (next >= pause_ && pause_ < never) {
        paused_ = true;
        return true;
    }
    if (next > problem_.horizon_end && leave_waiting_batch()) return true;
    if (next >= never) return false;
    if (next > problem_.horizon_end) {
        failure_ = {
            Obstacle::Horizon,
            core::OperationId{
                state_.waiting.nobody()
                    ? obstacle_at_
                    : problem_
                          .ops_of(
                              problem_.blocks[ix(state_.waiting.block_at(state_.waiting.next(0)))])
                          .front()}};
        return false;
    }
    state_.now = std::max(state_.now, next);
    state_.waiting.advance(state_.now);
    while (state_.batches_over < state_.batches.size() &&
           state_.batches[state_.batches_over].start < state_.now)
        ++state_.batches_over;
    for (std::size_t r = 0; r < state_.profile.size(); ++r) {
        state_.profile[r].forget_before(state_.now);
        const CompiledResource& c = problem_.resources[r];
        while (state_.window[r] < c.windows.end &&
               problem_.windows[ix(state_.window[r])].to <= state_.now)
            ++state_.window[r];
    }
    for (const std::int32_t r : state_.clocks) {
        if (state_.clock_next[ix(r)] > state_.now) continue;
        state_.clock[ix(r)].advance(state_.now);
        refresh_clock(r);
    }
    while (!state_.entries.empty() && state_.entries.top().time <= state_.now) {
        const Event e = state_.entries.pop();
        const auto op = static_cast<std::int32_t>(e.whom);
        if (state_.is_placed[ix(op)] != placed_only || state_.placed.start[ix(op)] != e.time)
            continue;  // moved
        const CompiledOperation& o = problem_.operations[ix(op)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])];
        const std::int32_t r = state_.placed.chosen[ix(o.chosen)];
        state_.is_placed[ix(op)] = entered;
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
