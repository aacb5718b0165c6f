// How a block is booked: every operation at the first instant at which its lags, places, people,
// calendars and stores allow it, and what gives way when a maximum lag is missed.

#include <algorithm>

#include "sched/engine/decoder.hpp"

namespace sched::engine {

namespace {

std::size_t idx(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

}  // namespace

// First instant >= from at which `spare` is left all over [x, x + length) and the calendar is open.
Tick Decoder::fit(std::int32_t r, Tick from, Tick length, std::int32_t spare,
                  const CompiledOperation& o) {
    const CompiledResource& c = problem_.resources[idx(r)];
    const Profile& profile = state_.profile[idx(r)];
    if (length <= 0) return from;
    if (!c.has_calendar || o.fixed) return profile.earliest(from, length, spare);
    const Tick open = o.pausable || length >= never ? 1 : length;
    Tick x = from;
    std::int32_t w = state_.window[idx(r)];
    while (true) {
        while (w < c.windows.end &&
               problem_.windows[idx(w)].to < std::max(x, problem_.windows[idx(w)].from) + open)
            ++w;
        if (w == c.windows.end) return never;
        x = std::max(x, problem_.windows[idx(w)].from);
        const Tick y = profile.earliest(x, length, spare);
        if (y >= never || y == x) return y;
        x = y;
    }
}

// Length of the work on resource r from t on. `slow`: in a full cabinet; else alone. Exact where
// nothing is shared.
Tick Decoder::length_of(const CompiledOperation& o, const CompiledMode& m, std::int32_t r, Tick t,
                        bool slow) const {
    if (m.stages.size() == 0) return m.work;
    const CompiledResource& c = problem_.resources[idx(r)];
    const auto span =
        drying_span(problem_.steps_of(c), problem_.stages_of(m), t, slow ? c.full_load : 0.0);
    if (!span || *span > 1e15) return never;
    // One second of margin against rounding: the bound must hold whatever the clock adds up.
    const Tick s = round_up_ticks(*span);
    // Work that has begun, with begun work after it: that it was done in time is a fact; dried()
    // looks whether it comes out so.
    if (slow && m.coupled && o.known_end < never)
        return std::max(m.work, std::min(s + 1, o.known_end - t));
    return std::max(m.work, slow && m.coupled ? s + 1 : (m.coupled ? std::max<Tick>(0, s - 1) : s));
}

// End of pausable work from t on: only time counts in which every chosen resource is open.
Tick Decoder::pausing_end(const CompiledOperation&, const CompiledMode& m, Tick t) const {
    Tick x = t, left = m.work;
    while (true) {
        Tick opens = x, closes = never;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledResource& c = problem_.resources[idx(pick_[idx(n)])];
            if (!c.has_calendar) continue;
            std::int32_t w = state_.window[idx(pick_[idx(n)])];
            while (w < c.windows.end && problem_.windows[idx(w)].to <= x)
                ++w;
            if (w == c.windows.end) return left == 0 ? x : never;
            opens = std::max(opens, problem_.windows[idx(w)].from);
            closes = std::min(closes, problem_.windows[idx(w)].to);
        }
        if (opens > x) {
            if (left == 0) return x;
            x = opens;
            continue;
        }
        if (closes - x >= left) return x + left;
        left -= closes - x;
        x = closes;
    }
}

// The resource that an already placed partner of a SameResource rule chose; -1: free.
std::int32_t Decoder::forced(std::int32_t op, std::int32_t need) const {
    const CompiledOperation& o = problem_.operations[idx(op)];
    for (std::int32_t s = o.same_resource.begin; s < o.same_resource.end; ++s) {
        const CompiledSameResource& same = problem_.same_resource[idx(s)];
        if (same.need != need || !state_.is_placed[idx(same.other)]) continue;
        const CompiledOperation& other = problem_.operations[idx(same.other)];
        const CompiledMode& m =
            problem_.modes[idx(other.modes.begin + state_.placed.mode[idx(same.other)])];
        if (same.other_need < m.needs.size())
            return state_.placed.chosen[idx(other.chosen + same.other_need)];
    }
    return -1;
}

Decoder::Spot Decoder::find(std::int32_t op, Tick floor, bool joins) {
    const CompiledOperation& o = problem_.operations[idx(op)];
    std::int32_t only = sequence_->mode.empty() ? -1 : sequence_->mode[idx(op)];
    for (std::int32_t s = o.same_mode.begin; s < o.same_mode.end; ++s) {
        const std::int32_t other = problem_.same_mode[idx(s)];
        if (state_.is_placed[idx(other)]) only = state_.placed.mode[idx(other)];
    }
    if (only >= 0 || o.modes.size() == 1) {
        const auto mode = static_cast<std::int16_t>(std::max(only, 0));
        const Spot spot = find_in_mode(op, mode, floor, joins);
        best_pick_.swap(pick_);
        best_store_.swap(pick_store_);
        best_batch_ = pick_batch_;
        return spot;
    }
    Spot best;
    Tick best_end = never;
    std::int32_t best_blocking = blocking_;
    for (std::int32_t i = 0; i < o.modes.size(); ++i) {
        const auto mode = static_cast<std::int16_t>(i);
        const Spot spot = find_in_mode(op, mode, floor, joins);
        Tick end = spot.work_end;
        const CompiledMode& m = problem_.modes[idx(o.modes.begin + i)];
        if (m.coupled && spot.start < never) {  // judged by the load that is there
            const std::int32_t r = pick_[0];
            const auto span =
                drying_span(problem_.steps_of(problem_.resources[idx(r)]), problem_.stages_of(m),
                            spot.start, state_.clock[idx(r)].load());
            end = span ? spot.start + round_up_ticks(*span) : never;
        }
        const bool better =
            best.mode < 0 || (spot.fits && !best.fits) ||
            (spot.fits == best.fits && (spot.fits ? end < best_end : spot.over < best.over));
        if (!better) continue;
        best = spot;
        best_end = end;
        best_pick_ = pick_;
        best_store_ = pick_store_;
        best_batch_ = pick_batch_;
        best_blocking = blocking_;
    }
    blocking_ = best_blocking;
    return best;
}

Decoder::Spot Decoder::find_in_mode(std::int32_t op, std::int16_t mode, Tick floor, bool joins) {
    const CompiledOperation& o = problem_.operations[idx(op)];
    const CompiledMode& m = problem_.modes[idx(o.modes.begin + mode)];
    Spot spot;
    spot.mode = mode;
    pick_batch_ = -1;
    blocking_ = -1;
    const auto& placed = state_.placed;

    // Limits from lags to what is placed already.
    Tick low = o.not_before, high = o.not_after;
    std::int32_t cause = -1;
    const auto cap = [&](Tick h, std::int32_t by) {
        if (h < high) {
            high = h;
            cause = by;
        }
    };
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = problem_.lags[idx(problem_.lags_in[idx(k)])];
        if (!state_.is_placed[idx(l.from)]) continue;
        Tick from = placed.start[idx(l.from)], to = from;
        if (l.edge != core::Edge::Start) {
            from = placed.work_end[idx(l.from)];
            to = state_.early[idx(l.from)];
            if (l.edge == core::Edge::End) {
                from = std::max(from, placed.end[idx(l.from)]);
                const Tick stretch = problem_.operations[idx(l.from)].stretch;
                to = stretch >= never ? never : std::max(to + stretch, from);
            }
        }
        low = std::max(low, from + l.min);
        if (l.max < never && to < never) cap(to + l.max, l.from);
    }
    Tick latest_end = problem_.horizon_end;
    if (o.order >= 0) latest_end = std::min(latest_end, problem_.order_deadline[idx(o.order)]);
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = problem_.lags[idx(problem_.lags_out[idx(k)])];
        if (!state_.is_placed[idx(l.to)]) continue;
        const Tick work = l.edge == core::Edge::Start ? 0 : m.work;
        cap(placed.start[idx(l.to)] - l.min - work, l.to);
        const bool stretches = l.edge == core::Edge::End && o.stretch > 0;
        if (l.max < never && !stretches)
            low = std::max(low, placed.start[idx(l.to)] - l.max - work);
    }
    if (!sequence_->delay.empty()) {
        // Within a block no longer than its limits to what is booked leave: waiting breaks nothing.
        const Tick wait = sequence_->delay[idx(op)];
        if (o.place == 0)
            low += wait;
        else if (sequence_->waits_inside)
            low = std::max(low, std::min(low + wait, high));
    }
    low_ = low;
    low = std::max(low, floor);

    const std::uint32_t turn = sequence_->choice.empty() ? 0 : sequence_->choice[idx(op)];
    const bool batching = joins && problem_.batches && o.batch_family >= 0 && !o.open &&
                          !m.coupled && (sequence_->join.empty() || sequence_->join[idx(op)] == 0);
    Tick t = low, length = m.work, quick = m.work;
    while (true) {
        if (t >= never) break;
        Tick next = t;
        pick_batch_ = -1;
        length = quick = m.work;
        if (m.stages.size() > 0) length = quick = 0;
        for (std::int32_t n = 0; n < m.needs.size() && next == t; ++n) {
            const CompiledNeed& need = problem_.needs[idx(m.needs.begin + n)];
            const std::int32_t must = o.same_resource.size() > 0 ? forced(op, n) : -1;
            const std::int32_t size = need.any_of.size();
            Tick best = never;
            pick_[idx(n)] = problem_.candidates[idx(need.any_of.begin)];
            for (std::int32_t q = 0; q < size; ++q) {
                const auto which =
                    turn == 0 ? q
                              : static_cast<std::int32_t>((static_cast<std::uint32_t>(q) + turn) %
                                                          static_cast<std::uint32_t>(size));
                const std::int32_t r = problem_.candidates[idx(need.any_of.begin + which)];
                if (must >= 0 && r != must) continue;
                bool taken = false;
                for (std::int32_t e = 0; e < n; ++e)
                    taken |= pick_[idx(e)] == r;
                if (taken) continue;
                Tick here = length, fast = quick;
                if (n == 0 && m.stages.size() > 0) {
                    here = o.open && m.coupled ? 0 : length_of(o, m, r, t, true);
                    fast = m.coupled ? length_of(o, m, r, t, false) : here;
                    if (here >= never) continue;
                }
                const bool open = o.open && (need.whole || m.coupled);
                const CompiledResource& c = problem_.resources[idx(r)];
                Tick e = fit(r, t, open ? never : here, c.capacity - need.amount, o);
                std::int32_t batch = -1;
                if (batching && c.has_batch && e > t) {
                    Tick s = e;
                    batch = joinable(op, m, r, t, s);
                    if (batch >= 0) e = s;
                } else if (batching && c.has_batch) {
                    Tick s = t;
                    batch = joinable(op, m, r, t, s);
                    if (batch >= 0 && s > t) batch = -1;
                }
                // One person minds the whole batch.
                if (pick_batch_ >= 0 && e > t && !c.has_batch && minds(pick_batch_, r, op)) e = t;
                if (e < best) {
                    best = e;
                    pick_[idx(n)] = r;
                    if (c.has_batch) pick_batch_ = batch;
                    if (n == 0) {
                        length = here;
                        quick = fast;
                    }
                }
                if (best <= t) break;
            }
            if (best > next) {
                next = best;
                blocking_ = pick_[idx(n)];
            }
        }
        for (std::int32_t k = o.takes.begin; k < o.takes.end && next == t; ++k) {
            const CompiledTake& take = problem_.takes[idx(k)];
            Tick best = never;
            for (std::int32_t s = take.any_of.begin; s < take.any_of.end; ++s) {
                const std::int32_t store = problem_.take_stores[idx(s)];
                const CompiledStore& c = problem_.stores[idx(store)];
                const Tick e = state_.ledger[idx(store)].earliest(std::max(t, c.from), take.amount);
                if (e < best && e < c.until) {
                    best = e;
                    pick_store_[idx(k - o.takes.begin)] = store;
                }
                if (best <= t) break;
            }
            if (best > next) {
                next = best;
                blocking_ = -3;
            }
        }
        if (next == t && o.pausable && m.needs.size() > 0) {
            const Tick end = pausing_end(o, m, t);
            length = quick = end >= never ? never : end - t;
            if (length >= never) {
                t = never;
                break;
            }
            for (std::int32_t n = 0; n < m.needs.size() && next == t; ++n) {
                const CompiledNeed& need = problem_.needs[idx(m.needs.begin + n)];
                const std::int32_t r = pick_[idx(n)];
                const std::int32_t spare = problem_.resources[idx(r)].capacity - need.amount;
                next = fit(r, t, o.open && need.whole ? never : length, spare, o);
                if (next > t) blocking_ = r;
            }
        }
        if (next == t) break;
        t = next;
        if (t > high && t < never) break;
    }
    spot.start = t;
    if (t >= never) {
        fail(blocking_ == -3 ? Obstacle::Material : Obstacle::Closed, op);
        return spot;
    }
    spot.work_end = t + length;
    spot.early = t + quick;
    const Tick latest = std::min(high, latest_end - (o.open && m.coupled ? m.work : length));
    if (latest < high) cause = -1;
    spot.fits = t <= latest;
    spot.over = t - latest;
    spot.cause = cause;
    if (!spot.fits && cause < 0) {
        fail(t > o.not_after
                 ? Obstacle::Window
                 : (latest_end < problem_.horizon_end ? Obstacle::Deadline : Obstacle::Horizon),
             op);
    }
    return spot;
}

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
            state_.batches.push_back(
                {r, spot.start, spot.work_end, spot.work_end, o.batch_family, 1, op});
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
        const std::int32_t batch = state_.placed.batch[idx(l.from)];
        if (batch >= 0 && state_.batches[idx(batch)].members > 1) {
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
                floor = profile.earliest(x, 1, c.capacity - need.amount);
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
        if (batch >= 0) state_.batches[idx(batch)].end = need_end;
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
        state_.floor[idx(ops[k])] = o.fixed ? o.not_before : std::max(o.not_before, state_.now);
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
        state_.waits_on[idx(b)] = blocking_;
        return false;
    };
    while (k < ops.size()) {
        const std::int32_t op = ops[k];
        const Spot spot = find(op, state_.floor[idx(op)], joins);
        // Nothing but its own needs held the first operation back: that holds for its whole kind.
        const std::int32_t kind = state_.kind[idx(b)];
        if (k == 0 && kind >= 0 && spot.start > limit && low_ <= state_.now &&
            state_.floor[idx(op)] <= state_.now) {
            state_.kind_wake[idx(kind)] = spot.start >= never ? never : spot.start - lookahead_;
            state_.kind_waits[idx(kind)] = blocking_;
        }
        if (spot.start >= never) return give_up(never);
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
