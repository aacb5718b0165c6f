// Where one operation could go: the first instant at which its lags, places, people, calendars and
// stores allow it.

#include <algorithm>

#include "sched/engine/decoder.hpp"

namespace sched::engine {

namespace {

std::size_t pos(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

}  // namespace

// First instant >= from at which `spare` is left all over [x, x + length) and the calendar is open.
Tick Decoder::fit(std::int32_t r, Tick from, Tick length, std::int32_t spare,
                  const CompiledOperation& o) {
    const CompiledResource& c = problem_.resources[pos(r)];
    const Profile& profile = state_.profile[pos(r)];
    if (length <= 0) return from;
    if (!c.has_calendar || o.fixed) return profile.earliest(from, length, spare);
    const Tick open = o.pausable || length >= never ? 1 : length;
    Tick x = from;
    std::int32_t w = state_.window[pos(r)];
    while (true) {
        while (w < c.windows.end &&
               problem_.windows[pos(w)].to < std::max(x, problem_.windows[pos(w)].from) + open)
            ++w;
        if (w == c.windows.end) return never;
        x = std::max(x, problem_.windows[pos(w)].from);
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
    const CompiledResource& c = problem_.resources[pos(r)];
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
            const CompiledResource& c = problem_.resources[pos(pick_[pos(n)])];
            if (!c.has_calendar) continue;
            std::int32_t w = state_.window[pos(pick_[pos(n)])];
            while (w < c.windows.end && problem_.windows[pos(w)].to <= x)
                ++w;
            if (w == c.windows.end) return left == 0 ? x : never;
            opens = std::max(opens, problem_.windows[pos(w)].from);
            closes = std::min(closes, problem_.windows[pos(w)].to);
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
    const CompiledOperation& o = problem_.operations[pos(op)];
    for (std::int32_t s = o.same_resource.begin; s < o.same_resource.end; ++s) {
        const CompiledSameResource& same = problem_.same_resource[pos(s)];
        if (same.need != need || !state_.is_placed[pos(same.other)]) continue;
        const CompiledOperation& other = problem_.operations[pos(same.other)];
        const CompiledMode& m =
            problem_.modes[pos(other.modes.begin + state_.placed.mode[pos(same.other)])];
        if (same.other_need < m.needs.size())
            return state_.placed.chosen[pos(other.chosen + same.other_need)];
    }
    return -1;
}

Decoder::Spot Decoder::find(std::int32_t op, Tick floor, bool joins) {
    const CompiledOperation& o = problem_.operations[pos(op)];
    std::int32_t only = sequence_->mode.empty() ? -1 : sequence_->mode[pos(op)];
    for (std::int32_t s = o.same_mode.begin; s < o.same_mode.end; ++s) {
        const std::int32_t other = problem_.same_mode[pos(s)];
        if (state_.is_placed[pos(other)]) only = state_.placed.mode[pos(other)];
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
        const CompiledMode& m = problem_.modes[pos(o.modes.begin + i)];
        if (m.coupled && spot.start < never) {  // judged by the load that is there
            const std::int32_t r = pick_[0];
            const auto span =
                drying_span(problem_.steps_of(problem_.resources[pos(r)]), problem_.stages_of(m),
                            spot.start, state_.clock[pos(r)].load());
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
    const CompiledOperation& o = problem_.operations[pos(op)];
    const CompiledMode& m = problem_.modes[pos(o.modes.begin + mode)];
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
        const CompiledLag& l = problem_.lags[pos(problem_.lags_in[pos(k)])];
        if (!state_.is_placed[pos(l.from)]) continue;
        Tick from = placed.start[pos(l.from)], to = from;
        if (l.edge != core::Edge::Start) {
            from = placed.work_end[pos(l.from)];
            to = state_.early[pos(l.from)];
            if (l.edge == core::Edge::End) {
                from = std::max(from, placed.end[pos(l.from)]);
                const Tick stretch = problem_.operations[pos(l.from)].stretch;
                to = stretch >= never ? never : std::max(to + stretch, from);
            }
        }
        low = std::max(low, from + l.min);
        if (l.max < never && to < never) cap(to + l.max, l.from);
    }
    Tick latest_end = problem_.horizon_end;
    if (o.order >= 0) latest_end = std::min(latest_end, problem_.order_deadline[pos(o.order)]);
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = problem_.lags[pos(problem_.lags_out[pos(k)])];
        if (!state_.is_placed[pos(l.to)]) continue;
        const Tick work = l.edge == core::Edge::Start ? 0 : m.work;
        cap(placed.start[pos(l.to)] - l.min - work, l.to);
        const bool stretches = l.edge == core::Edge::End && o.stretch > 0;
        if (l.max < never && !stretches)
            low = std::max(low, placed.start[pos(l.to)] - l.max - work);
    }
    if (!sequence_->delay.empty()) {
        // Within a block no longer than its limits to what is booked leave: waiting breaks nothing.
        const Tick wait = sequence_->delay[pos(op)];
        if (o.place == 0)
            low += wait;
        else if (sequence_->waits_inside)
            low = std::max(low, std::min(low + wait, high));
    }
    low_ = low;
    low = std::max(low, floor);

    const std::uint32_t turn = sequence_->choice.empty() ? 0 : sequence_->choice[pos(op)];
    const bool batching = joins && problem_.batches && o.batch_family >= 0 && !o.open &&
                          !m.coupled && (sequence_->join.empty() || sequence_->join[pos(op)] == 0);
    Tick t = low, length = m.work, quick = m.work;
    while (true) {
        if (t >= never) break;
        Tick next = t;
        pick_batch_ = -1;
        length = quick = m.work;
        if (m.stages.size() > 0) length = quick = 0;
        for (std::int32_t n = 0; n < m.needs.size() && next == t; ++n) {
            const CompiledNeed& need = problem_.needs[pos(m.needs.begin + n)];
            const std::int32_t must = o.same_resource.size() > 0 ? forced(op, n) : -1;
            const std::int32_t size = need.any_of.size();
            Tick best = never;
            pick_[pos(n)] = problem_.candidates[pos(need.any_of.begin)];
            for (std::int32_t q = 0; q < size; ++q) {
                const auto which =
                    turn == 0 ? q
                              : static_cast<std::int32_t>((static_cast<std::uint32_t>(q) + turn) %
                                                          static_cast<std::uint32_t>(size));
                const std::int32_t r = problem_.candidates[pos(need.any_of.begin + which)];
                if (must >= 0 && r != must) continue;
                bool taken = false;
                for (std::int32_t e = 0; e < n; ++e)
                    taken |= pick_[pos(e)] == r;
                if (taken) continue;
                Tick here = length, fast = quick;
                if (n == 0 && m.stages.size() > 0) {
                    here = o.open && m.coupled ? 0 : length_of(o, m, r, t, true);
                    fast = m.coupled ? length_of(o, m, r, t, false) : here;
                    if (here >= never) continue;
                }
                const bool open = o.open && (need.whole || m.coupled);
                const CompiledResource& c = problem_.resources[pos(r)];
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
                    pick_[pos(n)] = r;
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
                blocking_ = pick_[pos(n)];
            }
        }
        for (std::int32_t k = o.takes.begin; k < o.takes.end && next == t; ++k) {
            const CompiledTake& take = problem_.takes[pos(k)];
            Tick best = never;
            for (std::int32_t s = take.any_of.begin; s < take.any_of.end; ++s) {
                const std::int32_t store = problem_.take_stores[pos(s)];
                const CompiledStore& c = problem_.stores[pos(store)];
                const Tick e = state_.ledger[pos(store)].earliest(std::max(t, c.from), take.amount);
                if (e < best && e < c.until) {
                    best = e;
                    pick_store_[pos(k - o.takes.begin)] = store;
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
                const CompiledNeed& need = problem_.needs[pos(m.needs.begin + n)];
                const std::int32_t r = pick_[pos(n)];
                const std::int32_t spare = problem_.resources[pos(r)].capacity - need.amount;
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

}  // namespace sched::engine
