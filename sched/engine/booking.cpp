// How a block is booked: every operation at the first instant at which it can go (spot.cpp), and
// what gives way when a maximum lag is missed.

#include <algorithm>

#include "sched/engine/decoder.hpp"

namespace sched::engine {

namespace {

std::size_t idx(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

}  // namespace

void Decoder::place(std::int32_t op, const Spot& spot) {
    const CompiledOperation& o = problem_.operations[idx(op)];
    const CompiledMode& m = problem_.modes[idx(o.modes.begin + spot.mode)];
    ++counters_.placed;
    auto& f = state_.placed;
    const bool unknown = o.open && m.coupled;
    state_.is_placed[idx(op)] = 1;
    f.mode[idx(op)] = spot.mode;
    f.start[idx(op)] = spot.start;
    f.work_end[idx(op)] = unknown ? -1 : spot.work_end;
    f.end[idx(op)] = o.open ? -1 : spot.work_end;
    state_.early[idx(op)] = spot.early;
    f.batch[idx(op)] = -1;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[idx(m.needs.begin + n)];
        const std::int32_t r = best_pick_[idx(n)];
        f.chosen[idx(o.chosen + n)] = r;
        state_.shared[idx(o.chosen + n)] = 0;
        if (problem_.resources[idx(r)].has_batch && o.batch_family >= 0 && !o.open && !m.coupled) {
            if (best_batch_ >= 0) {
                OpenBatch& b = state_.batches[idx(best_batch_)];
                f.batch[idx(op)] = best_batch_;
                ++b.members;
                state_.batch_next[idx(op)] = b.last_member;
                b.last_member = op;
                f.end[idx(op)] = std::max(f.end[idx(op)], b.end);
                continue;
            }
            f.batch[idx(op)] = static_cast<std::int32_t>(state_.batches.size());
            state_.batch_next[idx(op)] = -1;  // it may have been with others in a try before
            state_.batches.push_back(
                {r, spot.start, spot.work_end, spot.work_end, o.batch_family, 1, op});
            if (booking_company_ && block_shares_[idx(o.block)] == op)
                company_batch_ = f.batch[idx(op)];
        }
        if (best_batch_ >= 0 && minds(best_batch_, r, op)) {
            state_.shared[idx(o.chosen + n)] = 1;
            continue;
        }
        const bool open = o.open && (need.whole || m.coupled);
        state_.profile[idx(r)].add(spot.start, open ? never : spot.work_end, need.amount);
    }
    for (std::int32_t k = o.takes.begin; k < o.takes.end; ++k) {
        const CompiledTake& take = problem_.takes[idx(k)];
        const std::int32_t store = best_store_[idx(k - o.takes.begin)];
        f.stores[idx(take.index)] = store;
        state_.ledger[idx(store)].add(spot.start, -take.amount);
    }
    if (!m.coupled) {
        for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
            const CompiledGive& give = problem_.gives[idx(g)];
            state_.ledger[idx(give.store)].add(spot.work_end, give.amount);
        }
    }
}

void Decoder::unplace(std::int32_t op) {
    auto& f = state_.placed;
    while (!extensions_.empty() && extensions_.back().by == op) {
        const Extension e = extensions_.back();
        extensions_.pop_back();
        const CompiledOperation& a = problem_.operations[idx(e.operation)];
        const Range ns = problem_.modes[idx(a.modes.begin + f.mode[idx(e.operation)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (!problem_.needs[idx(n)].whole) continue;
            state_.profile[idx(f.chosen[idx(a.chosen + n - ns.begin)])].add(
                e.before, e.after, -problem_.needs[idx(n)].amount);
        }
        f.end[idx(e.operation)] = e.before;
        batch_ends(f.batch[idx(e.operation)], e.before);
    }
    const CompiledOperation& o = problem_.operations[idx(op)];
    if (!state_.is_placed[idx(op)]) return;
    const CompiledMode& m = problem_.modes[idx(o.modes.begin + f.mode[idx(op)])];
    state_.is_placed[idx(op)] = 0;
    const std::int32_t batch = f.batch[idx(op)];
    f.batch[idx(op)] = -1;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[idx(m.needs.begin + n)];
        const std::int32_t r = f.chosen[idx(o.chosen + n)];
        if (batch >= 0 && state_.batches[idx(batch)].resource == r) {
            OpenBatch& b = state_.batches[idx(batch)];
            // Members leave in the reverse order of joining.
            b.last_member = state_.batch_next[idx(op)];
            if (--b.members > 0) continue;
        } else if (state_.shared[idx(o.chosen + n)]) {
            continue;
        }
        const bool open = o.open && (need.whole || m.coupled);
        state_.profile[idx(r)].add(
            f.start[idx(op)], open ? never : (need.whole ? f.end[idx(op)] : f.work_end[idx(op)]),
            -need.amount);
    }
    if (batch >= 0 && state_.batches[idx(batch)].members == 0 &&
        idx(batch) + 1 == state_.batches.size()) {
        state_.batches.pop_back();
    }
    if (booking_company_ && batch == company_batch_ && block_shares_[idx(o.block)] == op &&
        (idx(batch) >= state_.batches.size() || state_.batches[idx(batch)].members == 0))
        company_batch_ = -1;
    for (std::int32_t k = o.takes.begin; k < o.takes.end; ++k) {
        const CompiledTake& take = problem_.takes[idx(k)];
        state_.ledger[idx(f.stores[idx(take.index)])].remove(f.start[idx(op)], -take.amount);
    }
    if (!m.coupled) {
        for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
            const CompiledGive& give = problem_.gives[idx(g)];
            state_.ledger[idx(give.store)].remove(f.work_end[idx(op)], give.amount);
        }
    }
}

// All that share it end when it ends. -1: no batch.
void Decoder::batch_ends(std::int32_t batch, Tick end) {
    if (batch < 0) return;
    OpenBatch& b = state_.batches[idx(batch)];
    b.end = end;
    if (b.members < 2) return;
    for (std::int32_t i = b.last_member; i >= 0; i = state_.batch_next[idx(i)])
        state_.placed.end[idx(i)] = end;
}

// A batch under way of which nobody has a follower yet that says when it ends: it may stretch,
// all of it. Others may not: what was booked for one of its members would have to move.
bool Decoder::stays_as_one(std::int32_t batch) const {
    for (std::int32_t i = state_.batches[idx(batch)].last_member; i >= 0;
         i = state_.batch_next[idx(i)]) {
        const CompiledOperation& o = problem_.operations[idx(i)];
        if (!o.begun || o.stretch < never) return false;
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.lags[idx(problem_.lags_out[idx(k)])];
            if (l.edge == core::Edge::End && state_.is_placed[idx(l.to)]) return false;
        }
    }
    return true;
}

// Before `op` starts at `start`: those whose end waits for it stretch up to there. False: their
// place is wanted by somebody else in between, so `blamed` has to start at `floor` or later.
bool Decoder::extend_holds(std::int32_t op, Tick start, std::int32_t& blamed, Tick& floor) {
    const CompiledOperation& o = problem_.operations[idx(op)];
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = problem_.lags[idx(problem_.lags_in[idx(k)])];
        if (l.cross || l.edge != core::Edge::End || l.max >= never ||
            !state_.is_placed[idx(l.from)])
            continue;
        const Tick need_end = start - l.max;
        const Tick end = state_.placed.end[idx(l.from)];
        if (need_end <= end) continue;
        const CompiledOperation& a = problem_.operations[idx(l.from)];
        // What the profile has forgotten may have been taken by somebody else.
        const std::int32_t batch = state_.placed.batch[idx(l.from)];
        if (a.begun && end < state_.now && !stands(l.from)) {
            blamed = l.from;
            floor = never;
            return false;
        }
        if (batch >= 0 && state_.batches[idx(batch)].members > 1 && !stays_as_one(batch)) {
            blamed = -1;
            return false;
        }
        const Range ns = problem_.modes[idx(a.modes.begin + state_.placed.mode[idx(l.from)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            const CompiledNeed& need = problem_.needs[idx(n)];
            if (!need.whole) continue;
            const std::int32_t r = state_.placed.chosen[idx(a.chosen + n - ns.begin)];
            const CompiledResource& c = problem_.resources[idx(r)];
            const Profile& profile = state_.profile[idx(r)];
            const Tick x = profile.free_until(end, need_end, c.capacity - need.amount);
            if (x < need_end) {
                blamed = l.from;
                floor = profile.earliest_taken(x, 1, c.capacity - need.amount);
                blocking_ = r;
                return false;
            }
            if (!c.has_calendar || a.pausable || a.fixed) continue;
            for (std::int32_t w = state_.window[idx(r)]; w < c.windows.end; ++w) {
                const CompiledWindow& window = problem_.windows[idx(w)];
                if (window.from <= state_.placed.start[idx(l.from)] &&
                    state_.placed.start[idx(l.from)] < window.to && need_end > window.to) {
                    blamed = l.from;
                    floor = window.to;
                    blocking_ = r;
                    return false;
                }
            }
        }
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (!problem_.needs[idx(n)].whole) continue;
            state_.profile[idx(state_.placed.chosen[idx(a.chosen + n - ns.begin)])].add(
                end, need_end, problem_.needs[idx(n)].amount);
        }
        state_.placed.end[idx(l.from)] = need_end;
        batch_ends(batch, need_end);
        extensions_.push_back({l.from, end, need_end, op});
    }
    return true;
}

// Books operations `first`.. of the block; those before stand. False: nothing of them is left
// booked, and `found` says when it is worth trying again (never: something else must happen first).
bool Decoder::book(std::int32_t b, std::size_t first, Tick limit, bool joins, Tick& found) {
    const auto ops = problem_.ops_of(problem_.blocks[idx(b)]);
    for (std::size_t k = first; k < ops.size(); ++k) {
        const CompiledOperation& o = problem_.operations[idx(ops[k])];
        // What is fixed in the past has happened; from the moment of a plan on it is a pin.
        state_.floor[idx(ops[k])] =
            o.fixed && !problem_.midday ? o.not_before : std::max(o.not_before, state_.now);
    }
    std::int64_t patience = 100 + 50 * static_cast<std::int64_t>(ops.size());
    std::size_t k = first;
    const auto back_to = [&](std::size_t to) {
        while (k > to)
            unplace(ops[--k]);
    };
    const auto give_up = [&](Tick when) {
        back_to(first);
        found = when;
        waits_for_ = blocking_;
        return false;
    };
    while (k < ops.size()) {
        const std::int32_t op = ops[k];
        const Spot spot = find(op, state_.floor[idx(op)], joins);
        // Nothing but its own needs held the first operation back: that holds for its whole kind.
        const std::int32_t kind = state_.waiting.kind_of(b);
        if (k == 0 && kind >= 0 && spot.start > limit && low_ <= state_.now &&
            state_.floor[idx(op)] <= state_.now) {
            state_.waiting.sleep_kind(
                kind, spot.start >= never ? never : spot.start - ahead_of(problem_.blocks[idx(b)]),
                blocking_);
        }
        if (spot.start >= never) return give_up(never);
        // Agreed on from the moment it could go, not before.
        if (k == 0 && low_ > state_.now && spot.start <= limit && limit < never &&
            spot.start > state_.now + lookahead_) {
            return give_up(low_ + ahead_of(problem_.blocks[idx(b)]));
        }
        if (k == 0 && spot.start > limit) {
            if (!spot.fits) return give_up(never);
            return give_up(spot.start);
        }
        std::int32_t blamed = spot.cause;
        if (!spot.fits) {
            if (blamed < 0) return give_up(never);
            state_.floor[idx(blamed)] = state_.placed.start[idx(blamed)] + spot.over;
        } else {
            Tick floor = 0;
            if (extend_holds(op, spot.start, blamed, floor)) {
                place(op, spot);
                ++k;
                continue;
            }
            unplace(op);  // takes back the holds already stretched for it
            if (blamed < 0 || floor >= never) return give_up(never);
            state_.floor[idx(blamed)] = std::max(floor, state_.placed.start[idx(blamed)] + 1);
        }
        const auto to = static_cast<std::size_t>(problem_.operations[idx(blamed)].place);
        if (problem_.operations[idx(blamed)].block != b || to < first) {
            fail(Obstacle::Limits, op);
            return give_up(never);
        }
        if (--patience < 0) {
            fail(Obstacle::Limits, op);
            return give_up(never);
        }
        back_to(to);
    }
    if (!consistent(b)) {
        fail(Obstacle::Limits, ops.front());
        return give_up(never);
    }
    return true;
}

// What booking forward cannot see: ends that grew after a follower was placed, batches whose
// members differ.
bool Decoder::consistent(std::int32_t b) const {
    const auto& f = state_.placed;
    for (const std::int32_t op : problem_.ops_of(problem_.blocks[idx(b)])) {
        const CompiledOperation& o = problem_.operations[idx(op)];
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.lags[idx(problem_.lags_out[idx(k)])];
            if (l.cross || o.open) continue;
            const Tick from =
                l.edge == core::Edge::Start
                    ? f.start[idx(op)]
                    : (l.edge == core::Edge::WorkEnd ? f.work_end[idx(op)] : f.end[idx(op)]);
            const Tick early = l.edge == core::Edge::WorkEnd ? state_.early[idx(op)] : from;
            if (f.start[idx(l.to)] < from + l.min ||
                (l.max < never && f.start[idx(l.to)] > early + l.max))
                return false;
        }
        if (f.batch[idx(op)] >= 0 && f.end[idx(op)] != state_.batches[idx(f.batch[idx(op)])].end)
            return false;
    }
    return true;
}

}  // namespace sched::engine
