// Where one operation could go: the first instant at which its lags, places, people, calendars and
// stores allow it.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

// First instant >= from at which `spare` is left all over [x, x + length) and the calendar is open.
Tick Decoder::fit(std::int32_t r, Tick from, Tick length, std::int32_t spare,
                  const CompiledOperation& o) {
    const Profile& profile = state_.profile[ix(r)];
    if (length <= 0) return from;
    const CompiledResource& c = problem_.resources[ix(r)];
    if (!c.has_calendar) return profile.earliest(from, length, spare);
    if (o.happened) return profile.earliest_taken(from, length, spare);
    if (!o.pausable && length < never) return profile.earliest(from, length, spare);
    // Only its first second must be open.
    Tick x = from;
    std::int32_t w = state_.window[ix(r)];
    while (true) {
        while (w < c.windows.end &&
               problem_.windows[ix(w)].to < std::max(x, problem_.windows[ix(w)].from) + 1)
            ++w;
        if (w == c.windows.end) return never;
        x = std::max(x, problem_.windows[ix(w)].from);
        const Tick y = profile.earliest_taken(x, length, spare);
        if (y >= never || y == x) return y;
        x = y;
    }
}

// The same for what holds its place as long as planned; begun later than planned, for good, since
// then nobody knows when it will leave.
Tick Decoder::fit_as_planned(std::int32_t op, std::int32_t r, Tick from, Tick length,
                             std::int32_t spare) {
    const Tick x = state_.profile[ix(r)].earliest_taken(from, length, spare);
    return x <= baseline_->start[ix(op)] ? x
                                         : fit(r, from, never, spare, problem_.operations[ix(op)]);
}

// Length of the work on resource r from t on. `slow`: in a full cabinet; else alone. Exact where
// nothing is shared.
Tick Decoder::length_of(const CompiledOperation& o, const CompiledMode& m, std::int32_t r, Tick t,
                        bool slow) const {
    if (m.stages.size() == 0) return m.work;
    const CompiledResource& c = problem_.resources[ix(r)];
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

// What dries on the plan's way takes as long as planned: begun later, it ends later.
Tick Decoder::planned_drying(std::int32_t op, Tick t) const {
    const Tick start = baseline_->start[ix(op)], end = baseline_->work_end[ix(op)];
    return t <= start ? end - t : end - start;
}

// End of pausable work from t on: only time counts in which every chosen resource is open.
Tick Decoder::pausing_end(const CompiledOperation&, const CompiledMode& m, Tick t) const {
    Tick x = t, left = m.work;
    while (true) {
        Tick opens = x, closes = never;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledResource& c = problem_.resources[ix(pick_[ix(n)])];
            if (!c.has_calendar) continue;
            std::int32_t w = state_.window[ix(pick_[ix(n)])];
            while (w < c.windows.end && problem_.windows[ix(w)].to <= x)
                ++w;
            if (w == c.windows.end) return left == 0 ? x : never;
            opens = std::max(opens, problem_.windows[ix(w)].from);
            closes = std::min(closes, problem_.windows[ix(w)].to);
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
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t s = o.same_resource.begin; s < o.same_resource.end; ++s) {
        const CompiledSameResource& same = problem_.same_resource[ix(s)];
        if (same.need != need || !state_.is_placed[ix(same.other)]) continue;
        const CompiledOperation& other = problem_.operations[ix(same.other)];
        const CompiledMode& m =
            problem_.modes[ix(other.modes.begin + state_.placed.mode[ix(same.other)])];
        if (same.other_need < m.needs.size())
            return state_.placed.chosen[ix(other.chosen + same.other_need)];
    }
    return -1;
}

// The operation of the same block that has made `resource` the only choice of `op`; -1: none.
std::int32_t Decoder::bound_to(std::int32_t op, std::int32_t resource) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t s = o.same_resource.begin; s < o.same_resource.end; ++s) {
        const CompiledSameResource& same = problem_.same_resource[ix(s)];
        const CompiledOperation& other = problem_.operations[ix(same.other)];
        if (other.block != o.block || !state_.is_placed[ix(same.other)]) continue;
        if (state_.placed.chosen[ix(other.chosen + same.other_need)] == resource) return same.other;
    }
    return -1;
}

// What nobody attends, has to go the same way after the operation and is not booked yet: drying;
// -1: nothing.
std::int32_t Decoder::dries_after(std::int32_t op) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t s = o.same_mode.begin; s < o.same_mode.end; ++s) {
        const std::int32_t other = problem_.same_mode[ix(s)];
        const CompiledOperation& d = problem_.operations[ix(other)];
        if (d.block != o.block || d.place < o.place || state_.is_placed[ix(other)]) continue;
        const Range needs = problem_.modes[ix(d.modes.begin)].needs;
        bool attended = false;
        for (std::int32_t n = needs.begin; n < needs.end; ++n)
            attended |= !problem_.needs[ix(n)].whole;
        if (!attended) return other;
    }
    return -1;
}

Decoder::EarliestFit Decoder::find(std::int32_t op, Tick floor, bool joins) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    std::int32_t only = sequence_->mode.empty() ? -1 : sequence_->mode[ix(op)];
    if (as_planned_) only = std::max<std::int32_t>(only, baseline_->mode[ix(op)]);
    for (std::int32_t s = o.same_mode.begin; s < o.same_mode.end; ++s) {
        const std::int32_t other = problem_.same_mode[ix(s)];
        if (state_.is_placed[ix(other)]) only = state_.placed.mode[ix(other)];
    }
    if (only >= 0 || o.modes.size() == 1) {
        const auto mode = static_cast<std::int16_t>(std::max(only, 0));
        const EarliestFit earliest_fit = find_in_mode(op, mode, floor, joins);
        best_pick_.swap(pick_);
        best_store_.swap(pick_store_);
        best_batch_ = pick_batch_;
        return earliest_fit;
    }
    EarliestFit best;
    Tick best_end = never;
    std::int32_t best_blocking = blocking_;
    for (std::int32_t i = 0; i < o.modes.size(); ++i) {
        const auto mode = static_cast<std::int16_t>(i);
        const EarliestFit earliest_fit = find_in_mode(op, mode, floor, joins);
        Tick end = earliest_fit.work_end;
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + i)];
        if (m.coupled && earliest_fit.start < never) {  // judged by the load that is there
            const std::int32_t r = pick_[0];
            const auto span =
                drying_span(problem_.steps_of(problem_.resources[ix(r)]), problem_.stages_of(m),
                            earliest_fit.start, state_.clock[ix(r)].load());
            end = span ? earliest_fit.start + round_up_ticks(*span) : never;
        }
        if (const std::int32_t next = dries_after(op); next >= 0 && end < never) {
            // Carried there in this way: what counts is when it can hang.
            wait_pick_ = pick_;
            wait_store_ = pick_store_;
            const std::int32_t batch = pick_batch_, blocking = blocking_;
            const Tick low = low_;
            end = std::max(end, find_in_mode(next, mode, earliest_fit.work_end, joins).start);
            pick_ = wait_pick_;
            pick_store_ = wait_store_;
            pick_batch_ = batch;
            blocking_ = blocking;
            low_ = low;
        }
        const bool better = best.mode < 0 || (earliest_fit.fits && !best.fits) ||
                            (earliest_fit.fits == best.fits &&
                             (earliest_fit.fits ? end < best_end : earliest_fit.over < best.over));
        if (!better) continue;
        best = earliest_fit;
        best_end = end;
        best_pick_ = pick_;
        best_store_ = pick_store_;
        best_batch_ = pick_batch_;
        best_blocking = blocking_;
    }
    blocking_ = best_blocking;
    return best;
}

// What is booked already allows `op` in mode m to start in [low, high]; the latest end of its work.
Decoder::Limits Decoder::limits_of(std::int32_t op, const CompiledOperation& o,
                                   const CompiledMode& m) const {
    const auto& placed = state_.placed;
    const char* const is_placed = state_.is_placed.data();
    Limits x{o.not_before, o.not_after, problem_.horizon_end, -1};
    const auto cap = [&](Tick h, std::int32_t by) {
        if (h < x.high) {
            x.high = h;
            x.cause = by;
        }
    };
    const CompiledLag* const in = problem_.in_rows.data();
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = in[k];
        if (!is_placed[l.from]) continue;
        Tick from = placed.start[ix(l.from)], to = from;
        if (l.edge != core::Edge::Start) {
            from = placed.work_end[ix(l.from)];
            to = state_.early[ix(l.from)];
            if (l.edge == core::Edge::End) {
                from = std::max(from, placed.end[ix(l.from)]);
                if (l.max < never) {
                    const Tick stretch = problem_.operations[ix(l.from)].stretch;
                    to = stretch >= never ? never : std::max(to + stretch, from);
                }
            }
        }
        x.low = std::max(x.low, from + l.min);
        if (l.max < never && to < never) cap(to + l.max, l.from);
    }
    if (o.order >= 0) x.latest_end = std::min(x.latest_end, problem_.order_deadline[ix(o.order)]);
    const CompiledLag* const out = problem_.out_rows.data();
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = out[k];
        if (!is_placed[l.to]) continue;
        const Tick work = l.edge == core::Edge::Start ? 0 : m.work;
        cap(placed.start[ix(l.to)] - l.min - work, l.to);
        const bool stretches = l.edge == core::Edge::End && o.stretch > 0;
        if (l.max < never && !stretches)
            x.low = std::max(x.low, placed.start[ix(l.to)] - l.max - work);
    }
    if (!sequence_->delay.empty()) {
        // Within a block no longer than its limits to what is booked leave: waiting breaks nothing.
        const Tick wait = sequence_->delay[ix(op)];
        if (o.place == 0)
            x.low += wait;
        else if (sequence_->waits_inside)
            x.low = std::max(x.low, std::min(x.low + wait, x.high));
    }
    if (!sequence_->earliest.empty()) {
        const Tick earliest = sequence_->earliest[ix(op)];
        x.low = std::max(x.low, o.place == 0 ? earliest : std::min(earliest, x.high));
    }
    if (baseline_ != nullptr && baseline_->recourse == Recourse::Order && o.place > 0)
        x.low = std::max(x.low, turn_inside(op));
    if (as_planned_ && on_time_ && baseline_->start[ix(op)] > -never) {
        const Tick earliest = baseline_->start[ix(op)];
        x.low = std::max(x.low, std::min(earliest, std::max(x.low, x.high)));
    }
    return x;
}

// Start, end and slack of an operation that can go at t.
Decoder::EarliestFit Decoder::earliest_fit_at(std::int32_t op, const CompiledOperation& o,
                                              const CompiledMode& m, EarliestFit earliest_fit,
                                              Tick t, Tick length, Tick quick,
                                              const Limits& limits) {
    const Tick high = limits.high, latest_end = limits.latest_end;
    std::int32_t cause = limits.cause;
    earliest_fit.start = t;
    if (t >= never) {
        fail(blocking_ == -3 ? Obstacle::Material : Obstacle::Closed, op);
        earliest_fit.over = never;  // another way that only comes too late is better
        return earliest_fit;
    }
    earliest_fit.work_end = t + length;
    earliest_fit.early = t + quick;
    const Tick latest = std::min(high, latest_end - (o.open && m.coupled ? m.work : length));
    if (latest < high) cause = -1;
    earliest_fit.fits = t <= latest;
    earliest_fit.over = t - latest;
    earliest_fit.cause = cause;
    if (!earliest_fit.fits && cause < 0) {
        fail(t > o.not_after
                 ? Obstacle::Window
                 : (latest_end < problem_.horizon_end ? Obstacle::Deadline : Obstacle::Horizon),
             op);
    }
    return earliest_fit;
}

// Where in the list of candidates whoever the plan names stands; as planned it is nobody else.
std::int32_t Decoder::planned_first(std::int32_t op, std::int32_t n, const std::int32_t* any,
                                    std::int32_t size, std::int32_t& must) const {
    const std::int32_t r = baseline_->chosen[ix(problem_.operations[ix(op)].chosen + n)];
    const std::int32_t* const at = std::find(any, any + size, r);
    if (at == any + size) return 0;
    if (as_planned_ && must < 0) must = r;
    return static_cast<std::int32_t>(at - any);
}

// Places and people, nothing else: the common case. From t on. @param last set to the last instant
// that was tried after t.
template <class Lengths>
Tick Decoder::fit_plain(std::int32_t op, const CompiledOperation& o, const CompiledMode& m, Tick t,
                        Tick high, Lengths& lengths, Tick& last) {
    const std::uint32_t turn = sequence_->choice.empty() ? 0 : sequence_->choice[ix(op)];
    // What holds a place open is there for good as far as anybody knows, but on the plan's way.
    const bool known_hold = o.open && known_way();
    const Tick holds =
        known_hold ? std::max<Tick>(1, baseline_->end[ix(op)] - baseline_->start[ix(op)]) : never;
    const bool followed = baseline_ != nullptr && baseline_->start[ix(op)] > -never;
    const bool tied = o.same_resource.size() > 0;
    const std::int32_t needs = m.needs.size();
    const CompiledNeed* const need_rows = problem_.needs.data() + m.needs.begin;
    const std::int32_t* const candidates = problem_.candidates.data();
    const CompiledResource* const resources = problem_.resources.data();
    const Profile* const profiles = state_.profile.data();
    std::int32_t* const pick = pick_.data();
    // What was found for a candidate holds until the time asked for passes it.
    Tick* const known = known_.data();
    for (std::int32_t c = 0; c < m.candidates; ++c)
        known[c] = -never;
    // From where somebody has to come depends on the place chosen.
    const bool other_places = needs > 0 && need_rows->any_of.size() > 1;
    while (t < never) {
        Tick next = t;
        Tick* seen = known;
        for (std::int32_t n = 0; n < needs; ++n) {
            const CompiledNeed& need = need_rows[n];
            const Tick span = o.open && need.whole ? holds : m.work;
            const std::int32_t* const any = candidates + need.any_of.begin;
            const std::int32_t size = need.any_of.size();
            std::int32_t must = tied ? forced(op, n) : -1;
            std::int32_t which = 0;
            if (size > 1) {
                if (turn > 0)
                    which = static_cast<std::int32_t>(turn % static_cast<std::uint32_t>(size));
                if (followed) which = planned_first(op, n, any, size, must);
            }
            Tick best = never;
            std::int32_t chosen = must >= 0 ? must : any[0];
            for (std::int32_t q = 0; q < size; ++q, which = which + 1 == size ? 0 : which + 1) {
                const std::int32_t r = any[which];
                if ((must >= 0 && r != must) || (tied && avoided(op, r))) continue;
                Tick e = seen[which];
                const CompiledResource& row = resources[r];
                if (row.walk > 0 && !need.whole) {
                    if (e < t || other_places) {
                        e = profiles[r].earliest_at(t, span,
                                                    need_rows->whole ? resources[*pick].spot : -1,
                                                    row.walk, lengths);
                        seen[which] = e;
                    }
                } else if (e < t) {
                    const std::int32_t spare = row.capacity - need.amount;
                    e = known_hold && need.whole            ? fit_as_planned(op, r, t, span, spare)
                        : span >= never && row.has_calendar ? fit(r, t, span, spare, o)
                        : span >= never                     ? profiles[r].earliest(t, span, spare)
                                        : profiles[r].earliest(t, span, spare, lengths);
                    seen[which] = e;
                }
                if (e >= best) continue;
                best = e;
                chosen = r;
                if (e <= t) break;
            }
            seen += size;
            pick[n] = chosen;
            if (best > t) {
                next = best;
                blocking_ = chosen;
                break;
            }
        }
        if (next == t) break;
        t = next;
        if (t >= never) continue;
        if (t > high) return t;
        last = t;
    }
    return t;
}

template Tick Decoder::fit_plain(std::int32_t, const CompiledOperation&, const CompiledMode&, Tick,
                                 Tick, SameLengths&, Tick&);

Decoder::EarliestFit Decoder::find_in_mode(std::int32_t op, std::int16_t mode, Tick floor,
                                           bool joins) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + mode)];
    EarliestFit earliest_fit;
    earliest_fit.mode = mode;
    pick_batch_ = -1;
    blocking_ = -1;
    const Limits limits = limits_of(op, o, m);
    const Tick high = limits.high;
    low_ = limits.low;
    const bool plain = !o.happened && !o.pausable;
    if (plain && o.batch_family < 0 && m.stages.size() == 0 && !m.overlaps && m.work > 0 &&
        o.takes.size() == 0 && !booking_waiting_batch_) {
        AnyLengths any;
        Tick last = 0;
        const Tick t = fit_plain(op, o, m, std::max(limits.low, floor), high, any, last);
        return earliest_fit_at(op, o, m, earliest_fit, t, m.work, m.work, limits);
    }

    const std::uint32_t turn = sequence_->choice.empty() ? 0 : sequence_->choice[ix(op)];
    // What holds a place open is there for good as far as anybody knows, but on the plan's way.
    const bool known_hold = o.open && known_way();
    const Tick holds =
        known_hold ? std::max<Tick>(1, baseline_->end[ix(op)] - baseline_->start[ix(op)]) : never;
    const bool followed = baseline_ != nullptr && baseline_->start[ix(op)] > -never;
    const bool member = booking_waiting_batch_ && block_shares_[ix(o.block)] == op;
    const bool batching = joins && problem_.batches && o.batch_family >= 0 && !o.open &&
                          !m.coupled && (sequence_->join.empty() || sequence_->join[ix(op)] == 0);
    const bool dries = m.stages.size() > 0;
    const std::int32_t needs = m.needs.size();
    const CompiledNeed* const need_rows = problem_.needs.data() + m.needs.begin;
    const std::int32_t* const candidates = problem_.candidates.data();
    const CompiledResource* const resources = problem_.resources.data();
    const Profile* const profiles = state_.profile.data();
    std::int32_t* const pick = pick_.data();
    // What was found for a candidate holds until the time asked for passes it.
    Tick* const known = known_.data();
    std::fill_n(known, m.candidates, -never);

    if (member) floor = std::max(floor, waiting_batch_from_);
    Tick t = std::max(limits.low, floor), length = m.work, quick = m.work;
    while (true) {
        if (t >= never) break;
        Tick next = t;
        pick_batch_ = -1;
        length = quick = dries ? 0 : m.work;
        std::int32_t at = 0;  // into known
        for (std::int32_t n = 0; n < needs && next == t; ++n) {
            const CompiledNeed& need = need_rows[n];
            std::int32_t must = o.same_resource.size() > 0 ? forced(op, n) : -1;
            const std::int32_t size = need.any_of.size();
            const bool open = o.open && (need.whole || m.coupled);
            Tick best = never;
            pick[n] = must >= 0 ? must : candidates[need.any_of.begin];
            std::uint32_t from = turn;
            if (followed && size > 1) {
                from = static_cast<std::uint32_t>(
                    planned_first(op, n, candidates + need.any_of.begin, size, must));
                pick[n] = candidates[need.any_of.begin + static_cast<std::int32_t>(from)];
            }
            for (std::int32_t q = 0; q < size; ++q) {
                const auto which =
                    from == 0 ? q
                              : static_cast<std::int32_t>((static_cast<std::uint32_t>(q) + from) %
                                                          static_cast<std::uint32_t>(size));
                const std::int32_t r = candidates[need.any_of.begin + which];
                if ((must >= 0 && r != must) || avoided(op, r)) continue;
                if (m.overlaps && std::find(pick, pick + n, r) != pick + n) continue;
                Tick here = length, fast = quick;
                if (n == 0 && dries) {
                    here = o.open && m.coupled ? 0 : length_of(o, m, r, t, true);
                    fast = m.coupled ? length_of(o, m, r, t, false) : here;
                    if (m.coupled && !o.open && known_way()) here = fast = planned_drying(op, t);
                    if (here >= never) continue;
                }
                const CompiledResource& c = resources[r];
                Tick e = known[at + which];
                if (c.walk > 0 && plain && !need.whole && here > 0) {
                    e = profiles[r].earliest_at(
                        t, here, need_rows->whole ? resources[*pick].spot : -1, c.walk);
                } else if (e < t || dries) {
                    const Tick span = open ? holds : here;
                    const std::int32_t spare = c.capacity - need.amount;
                    e = span <= 0            ? t
                        : open && known_hold ? fit_as_planned(op, r, t, span, spare)
                        : plain && (span < never || !c.has_calendar)
                            ? profiles[r].earliest(t, span, spare)
                            : fit(r, t, span, spare, o);
                    known[at + which] = e;
                }
                std::int32_t batch = -1;
                if (member && c.has_batch) {
                    if (waiting_batch_number_ >= 0) {
                        if (!goes_with_waiting_batch(op, m, r)) continue;
                        batch = waiting_batch_number_;
                        e = std::max(t, state_.batches[ix(batch)].start);
                    }
                } else if (batching && c.has_batch && e > t) {
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
                    pick[n] = r;
                    if (c.has_batch) pick_batch_ = batch;
                    if (n == 0) {
                        length = here;
                        quick = fast;
                    }
                }
                if (best <= t) break;
            }
            at += size;
            if (best > next) {
                next = best;
                blocking_ = pick[n];
            }
        }
        for (std::int32_t k = o.takes.begin; k < o.takes.end && next == t; ++k) {
            const CompiledTake& take = problem_.takes[ix(k)];
            Tick best = never;
            // The planned pot first; on the plan's way it will hold what is taken, if it is not
            // over.
            const std::int32_t wanted = followed ? baseline_->stores[ix(take.index)] : -1;
            if (wanted >= 0 && known_way() && t < slips_at_ &&
                t < problem_.stores[ix(wanted)].until && t < state_.ledger[ix(wanted)].over()) {
                pick_store_[ix(k - o.takes.begin)] = wanted;
                continue;
            }
            for (std::int32_t s = take.any_of.begin - 1; s < take.any_of.end; ++s) {
                if (s < take.any_of.begin && wanted < 0) continue;
                const std::int32_t store =
                    s < take.any_of.begin ? wanted : problem_.take_stores[ix(s)];
                if (s >= take.any_of.begin && store == wanted) continue;
                const CompiledStore& c = problem_.stores[ix(store)];
                const Tick e = state_.ledger[ix(store)].earliest(std::max(t, c.from), take.amount);
                if (e < best && e < c.until && e < state_.ledger[ix(store)].over()) {
                    best = e;
                    pick_store_[ix(k - o.takes.begin)] = store;
                }
                if (best <= t) break;
            }
            if (best >= never) {
                lacking_ = k;
                lacking_at_ = t;
            }
            if (best > next) {
                next = best;
                blocking_ = -3;
            }
        }
        if (next == t && o.pausable && needs > 0) {
            const Tick end = pausing_end(o, m, t);
            length = quick = end >= never ? never : end - t;
            if (length >= never) {
                t = never;
                break;
            }
            for (std::int32_t n = 0; n < needs && next == t; ++n) {
                const std::int32_t r = pick[n];
                const std::int32_t spare = resources[r].capacity - need_rows[n].amount;
                next = fit(r, t, o.open && need_rows[n].whole ? holds : length, spare, o);
                if (next > t) blocking_ = r;
            }
        }
        if (next == t) break;
        t = next;
        if (t > high && t < never) break;
    }
    earliest_fit = earliest_fit_at(op, o, m, earliest_fit, t, length, quick, limits);
    if (member && pick_batch_ >= 0 && earliest_fit.fits &&
        t > state_.batches[ix(pick_batch_)].start) {
        // It comes too late for the batch, which will have to begin when this one can.
        waiting_batch_missed_ = std::max(waiting_batch_missed_, t);
        earliest_fit.start = never;
    }
    return earliest_fit;
}

}  // namespace sched::engine
