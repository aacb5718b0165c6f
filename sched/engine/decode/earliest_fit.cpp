// How it works: from what is booked already and its own window an operation has limits. From the
// lower one on, the places and people that it needs are asked in turn when they are free; whoever
// is free last moves the start, and all are asked again from there until none moves it. Of several
// ways to do it the one that ends first is taken; where they end alike, the one in which what comes
// next by itself (a lamp, a cabinet) ends first.

#include "sched/engine/decode/earliest_fit.hpp"

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/batches.hpp"

namespace sched::engine {

EarliestFits::EarliestFits(Run& run, const WaitingBatches& groups)
    : run_(run), problem_(run.problem), state_(run.state), plan_(run.plan), groups_(groups) {
    std::size_t needs = 1, takes = 1, candidates = 1;
    for (const auto& m : problem_.modes) {
        needs = std::max(needs, ix(m.needs.size()));
        candidates = std::max(candidates, ix(m.candidates));
    }
    for (const auto& o : problem_.operations)
        takes = std::max(takes, ix(o.takes.size()));
    known_.assign(candidates, 0);
    for (Choice* one : {&choice, &trial_}) {
        one->resources.assign(needs, -1);
        one->stores.assign(takes, -1);
    }
}

// First instant >= from at which `spare` is left all over [x, x + length) and the calendar is open.
Tick EarliestFits::fit(std::int32_t r, Tick from, Tick length, std::int32_t spare,
                       const CompiledOperation& o) const {
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
Tick EarliestFits::fit_as_planned(std::int32_t op, std::int32_t r, Tick from, Tick length,
                                  std::int32_t spare) const {
    const Tick x = state_.profile[ix(r)].earliest_taken(from, length, spare);
    return x <= plan_.baseline->start[ix(op)]
               ? x
               : fit(r, from, never, spare, problem_.operations[ix(op)]);
}

// Length of the work on resource r from t on. `slow`: in a full cabinet; else alone. Exact where
// nothing is shared.
Tick EarliestFits::length_of(const CompiledOperation& o, const CompiledMode& m, std::int32_t r,
                             Tick t, bool slow) const {
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
Tick EarliestFits::planned_drying(std::int32_t op, Tick t) const {
    const Tick start = plan_.baseline->start[ix(op)], end = plan_.baseline->work_end[ix(op)];
    return t <= start ? end - t : end - start;
}

// End of pausable work from t on: only time counts in which every chosen resource is open.
Tick EarliestFits::pausing_end(const CompiledMode& m, std::span<const std::int32_t> chosen,
                               Tick t) const {
    Tick x = t, left = m.work;
    while (true) {
        Tick opens = x, closes = never;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledResource& c = problem_.resources[ix(chosen[ix(n)])];
            if (!c.has_calendar) continue;
            std::int32_t w = state_.window[ix(chosen[ix(n)])];
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
std::int32_t EarliestFits::forced(std::int32_t op, std::int32_t need) const {
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
std::int32_t EarliestFits::bound_to(std::int32_t op, std::int32_t resource) const {
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
std::int32_t EarliestFits::dries_after(std::int32_t op) const {
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

EarliestFit EarliestFits::find(std::int32_t op, Tick floor, bool joins) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    std::int32_t only = run_.sequence->mode.empty() ? -1 : run_.sequence->mode[ix(op)];
    if (plan_.as_planned) only = std::max<std::int32_t>(only, plan_.baseline->mode[ix(op)]);
    for (std::int32_t s = o.same_mode.begin; s < o.same_mode.end; ++s) {
        const std::int32_t other = problem_.same_mode[ix(s)];
        if (state_.is_placed[ix(other)]) only = state_.placed.mode[ix(other)];
    }
    if (only >= 0 || o.modes.size() == 1) {
        const auto mode = static_cast<std::int16_t>(std::max(only, 0));
        const EarliestFit earliest_fit = find_in_mode(op, mode, floor, joins);
        choice.resources.swap(trial_.resources);
        choice.stores.swap(trial_.stores);
        choice.batch = trial_.batch;
        return earliest_fit;
    }
    EarliestFit best;
    Tick best_end = never, best_after = never;
    std::int32_t best_blocking = blocking;
    for (std::int32_t i = 0; i < o.modes.size(); ++i) {
        const auto mode = static_cast<std::int16_t>(i);
        const EarliestFit earliest_fit = find_in_mode(op, mode, floor, joins);
        Tick end = earliest_fit.work_end, after = 0;
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + i)];
        if (m.coupled && earliest_fit.start < never) {  // judged by the load that is there
            const std::int32_t r = trial_.resources[0];
            const auto span =
                drying_span(problem_.steps_of(problem_.resources[ix(r)]), problem_.stages_of(m),
                            earliest_fit.start, state_.clock[ix(r)].load());
            end = span ? earliest_fit.start + round_up_ticks(*span) : never;
        }
        if (const std::int32_t next = dries_after(op); next >= 0 && end < never) {
            // Carried there in this way: what counts is when it can hang.
            waits_ = trial_;
            const std::int32_t blocks = blocking;
            const Tick from = low;
            const EarliestFit hangs = find_in_mode(next, mode, earliest_fit.work_end, joins);
            end = std::max(end, hangs.start);
            after = hangs.work_end;
            trial_ = waits_;
            blocking = blocks;
            low = from;
        }
        const bool better =
            best.mode < 0 || (earliest_fit.fits && !best.fits) ||
            (earliest_fit.fits == best.fits &&
             (earliest_fit.fits ? std::pair(end, after) < std::pair(best_end, best_after)
                                : earliest_fit.over < best.over));
        if (!better) continue;
        best = earliest_fit;
        best_end = end;
        best_after = after;
        choice = trial_;
        best_blocking = blocking;
    }
    blocking = best_blocking;
    return best;
}

// What is booked already allows `op` in mode m to start in [low, high]; the latest end of its work.
StartLimits EarliestFits::limits_of(std::int32_t op, const CompiledOperation& o,
                                    const CompiledMode& m) const {
    const auto& placed = state_.placed;
    const char* const is_placed = state_.is_placed.data();
    StartLimits x{o.not_before, o.not_after, problem_.horizon_end, -1};
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
        if (l.loose && run_.sequence->redoes && state_.now > to + l.max) {
            // Missed: what had dried is done again.
            const std::int32_t block = problem_.operations[ix(l.from)].block;
            const std::int32_t first = problem_.ops_of(problem_.blocks[ix(block)]).front();
            x.low = std::max(x.low, to + l.max + from - placed.start[ix(first)]);
            continue;
        }
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
    if (!run_.sequence->delay.empty()) {
        // Within a block no longer than its limits to what is booked leave: waiting breaks nothing.
        const Tick wait = run_.sequence->delay[ix(op)];
        if (o.place == 0)
            x.low += wait;
        else if (run_.sequence->waits_inside)
            x.low = std::max(x.low, std::min(x.low + wait, x.high));
    }
    if (!run_.sequence->earliest.empty()) {
        const Tick earliest = run_.sequence->earliest[ix(op)];
        x.low = std::max(x.low, o.place == 0 ? earliest : std::min(earliest, x.high));
    }
    if (plan_.baseline != nullptr && plan_.baseline->recourse == Recourse::Order && o.place > 0)
        x.low = std::max(x.low, turn_inside(op));
    if (plan_.as_planned && plan_.on_time && plan_.baseline->start[ix(op)] > -never) {
        const Tick earliest = plan_.baseline->start[ix(op)];
        x.low = std::max(x.low, std::min(earliest, std::max(x.low, x.high)));
    }
    return x;
}

// Inside a block of a plan whose order is kept nothing begins before what goes before it, as far as
// that is booked.
Tick EarliestFits::turn_inside(std::int32_t op) const {
    Tick turn = -never;
    plan_.for_forerunners(op, [&](std::int32_t q) {
        if (state_.is_placed[ix(q)] != 0) turn = std::max(turn, state_.placed.start[ix(q)]);
    });
    return turn;
}

// Start, end and slack of an operation that can go at t.
EarliestFit EarliestFits::at(std::int32_t op, const CompiledOperation& o, const CompiledMode& m,
                             std::int16_t mode, Tick t, Tick length, Tick quick,
                             const StartLimits& limits) {
    EarliestFit earliest_fit;
    earliest_fit.mode = mode;
    const Tick high = limits.high, latest_end = limits.latest_end;
    std::int32_t cause = limits.cause;
    earliest_fit.start = t;
    if (t >= never) {
        run_.fail(blocking == waits_for_store ? Obstacle::Material : Obstacle::Closed, op);
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
        run_.fail(t > o.not_after ? Obstacle::Window
                                  : (latest_end < problem_.horizon_end ? Obstacle::Deadline
                                                                       : Obstacle::Horizon),
                  op);
    }
    return earliest_fit;
}

// When somebody must set out for what can start then: it is taken up by then. Otherwise whoever is
// there already would always be first, whatever comes next by rank.
Tick EarliestFits::sets_out(std::int32_t op, const EarliestFit& earliest_fit) const {
    // Where it misses a limit nobody has been chosen.
    if (problem_.walk == 0 || !earliest_fit.fits || earliest_fit.start >= never)
        return earliest_fit.start;
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + earliest_fit.mode)];
    if (m.needs.size() < 2 || !problem_.needs[ix(m.needs.begin)].whole) return earliest_fit.start;
    Tick out = earliest_fit.start;
    for (std::int32_t n = 1; n < m.needs.size(); ++n) {
        const std::int32_t r = choice.resources[ix(n)];
        const Tick walk = problem_.resources[ix(r)].walk;
        if (walk > 0 && !problem_.needs[ix(m.needs.begin + n)].whole &&
            state_.profile[ix(r)].comes_from_elsewhere(
                earliest_fit.start, problem_.resources[ix(choice.resources[0])].spot))
            out = std::min(out, earliest_fit.start - walk);
    }
    return out;
}

// Where in the list of candidates whoever the plan names stands; as planned it is nobody else.
std::int32_t EarliestFits::planned_first(std::int32_t op, std::int32_t n, const std::int32_t* any,
                                         std::int32_t size, std::int32_t& must) const {
    const std::int32_t r = plan_.baseline->chosen[ix(problem_.operations[ix(op)].chosen + n)];
    const std::int32_t* const at = std::find(any, any + size, r);
    if (at == any + size) return 0;
    if (plan_.as_planned && must < 0) must = r;
    return static_cast<std::int32_t>(at - any);
}

// Places and people, nothing else: the common case. From t on. @param last set to the last instant
// that was tried after t.
template <class Lengths>
Tick EarliestFits::fit_plain(std::int32_t op, const CompiledOperation& o, const CompiledMode& m,
                             Tick t, Tick high, Lengths& lengths, Tick& last) {
    const std::uint32_t turn = run_.sequence->choice.empty() ? 0 : run_.sequence->choice[ix(op)];
    // What holds a place open is there for good as far as anybody knows, but on the plan's way.
    const bool known_hold = o.open && plan_.known_way();
    const Tick holds =
        known_hold ? std::max<Tick>(1, plan_.baseline->end[ix(op)] - plan_.baseline->start[ix(op)])
                   : never;
    const bool followed = plan_.baseline != nullptr && plan_.baseline->start[ix(op)] > -never;
    const bool tied = o.same_resource.size() > 0;
    const std::int32_t needs = m.needs.size();
    const CompiledNeed* const need_rows = problem_.needs.data() + m.needs.begin;
    const std::int32_t* const candidates = problem_.candidates.data();
    const CompiledResource* const resources = problem_.resources.data();
    const Profile* const profiles = state_.profile.data();
    std::int32_t* const pick = trial_.resources.data();
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
                if ((must >= 0 && r != must) || (tied && avoids(op, r))) continue;
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
                blocking = chosen;
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

template Tick EarliestFits::fit_plain(std::int32_t, const CompiledOperation&, const CompiledMode&,
                                      Tick, Tick, SameLengths&, Tick&);

// Into the batch that its group has opened.
bool EarliestFits::goes_with_group(std::int32_t op, const CompiledMode& m, std::int32_t r) {
    const OpenBatch& b = state_.batches[ix(run_.group.batch)];
    if (r != b.resource) return false;
    if (b.start + m.work <= b.work_end &&
        b.end - b.start - m.work <= problem_.operations[ix(op)].stretch &&
        packs(problem_, state_, run_.group.batch, op))
        return true;
    run_.group.cannot = true;
    return false;
}

EarliestFit EarliestFits::find_in_mode(std::int32_t op, std::int16_t mode, Tick floor, bool joins) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + mode)];
    trial_.batch = -1;
    blocking = waits_for_nothing;
    const StartLimits limits = limits_of(op, o, m);
    const Tick high = limits.high;
    low = limits.low;
    const bool plain = !o.happened && !o.pausable;
    if (plain && o.batch_family < 0 && m.stages.size() == 0 && !m.overlaps && m.work > 0 &&
        o.takes.size() == 0 && !run_.group.booking) {
        AnyLengths any;
        Tick last = 0;
        const Tick t = fit_plain(op, o, m, std::max(limits.low, floor), high, any, last);
        return at(op, o, m, mode, t, m.work, m.work, limits);
    }

    const std::uint32_t turn = run_.sequence->choice.empty() ? 0 : run_.sequence->choice[ix(op)];
    // What holds a place open is there for good as far as anybody knows, but on the plan's way.
    const bool known_hold = o.open && plan_.known_way();
    const Tick holds =
        known_hold ? std::max<Tick>(1, plan_.baseline->end[ix(op)] - plan_.baseline->start[ix(op)])
                   : never;
    const bool followed = plan_.baseline != nullptr && plan_.baseline->start[ix(op)] > -never;
    const bool member = run_.group.booking && groups_.sharer(o.block) == op;
    const bool batching = joins && problem_.batches && o.batch_family >= 0 && !o.open &&
                          !m.coupled &&
                          (run_.sequence->join.empty() || run_.sequence->join[ix(op)] == 0);
    const bool dries = m.stages.size() > 0;
    const std::int32_t needs = m.needs.size();
    const CompiledNeed* const need_rows = problem_.needs.data() + m.needs.begin;
    const std::int32_t* const candidates = problem_.candidates.data();
    const CompiledResource* const resources = problem_.resources.data();
    const Profile* const profiles = state_.profile.data();
    std::int32_t* const pick = trial_.resources.data();
    // What was found for a candidate holds until the time asked for passes it.
    Tick* const known = known_.data();
    std::fill_n(known, m.candidates, -never);

    if (member) floor = std::max(floor, run_.group.from);
    Tick t = std::max(limits.low, floor), length = m.work, quick = m.work;
    while (true) {
        if (t >= never) break;
        Tick next = t;
        trial_.batch = -1;
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
                if ((must >= 0 && r != must) || avoids(op, r)) continue;
                if (m.overlaps && std::find(pick, pick + n, r) != pick + n) continue;
                Tick here = length, fast = quick;
                if (n == 0 && dries) {
                    here = o.open && m.coupled ? 0 : length_of(o, m, r, t, true);
                    fast = m.coupled ? length_of(o, m, r, t, false) : here;
                    if (m.coupled && !o.open && plan_.known_way())
                        here = fast = planned_drying(op, t);
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
                    if (run_.group.batch >= 0) {
                        if (!goes_with_group(op, m, r)) continue;
                        batch = run_.group.batch;
                        e = std::max(t, state_.batches[ix(batch)].start);
                    }
                } else if (batching && c.has_batch && e > t) {
                    Tick s = e;
                    batch = joinable(problem_, state_, op, m, r, t, s);
                    if (batch >= 0) e = s;
                } else if (batching && c.has_batch) {
                    Tick s = t;
                    batch = joinable(problem_, state_, op, m, r, t, s);
                    if (batch >= 0 && s > t) batch = -1;
                }
                // One person minds the whole batch.
                if (trial_.batch >= 0 && e > t && !c.has_batch &&
                    minds(problem_, state_, trial_.batch, r, op))
                    e = t;
                if (e < best) {
                    best = e;
                    pick[n] = r;
                    if (c.has_batch) trial_.batch = batch;
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
                blocking = pick[n];
            }
        }
        for (std::int32_t k = o.takes.begin; k < o.takes.end && next == t; ++k) {
            const CompiledTake& take = problem_.takes[ix(k)];
            Tick best = never;
            // The planned pot first. On the plan's way it will hold what is taken from when the
            // plan takes it, if it is not over; sooner only what is there is there.
            const std::int32_t wanted = followed ? plan_.baseline->stores[ix(take.index)] : -1;
            Tick sure = never;
            if (wanted >= 0 && plan_.known_way()) sure = std::max(t, plan_.baseline->start[ix(op)]);
            if (sure >= plan_.slips_at) sure = never;
            for (std::int32_t s = take.any_of.begin - 1; s < take.any_of.end; ++s) {
                if (s < take.any_of.begin && wanted < 0) continue;
                const std::int32_t store =
                    s < take.any_of.begin ? wanted : problem_.take_stores[ix(s)];
                if (s >= take.any_of.begin && store == wanted) continue;
                const CompiledStore& c = problem_.stores[ix(store)];
                Tick e = state_.ledger[ix(store)].earliest(std::max(t, c.from), take.amount);
                if (store == wanted) e = std::min(e, sure);
                if (e < best && e < c.until && e < state_.ledger[ix(store)].over()) {
                    best = e;
                    trial_.stores[ix(k - o.takes.begin)] = store;
                }
                // What the plan has for others stays theirs.
                if (best <= t || (store == wanted && best <= sure && sure < never)) break;
            }
            if (best >= never) {
                lacking = k;
                lacking_at = t;
            }
            if (best > next) {
                next = best;
                blocking = waits_for_store;
            }
        }
        if (next == t && o.pausable && needs > 0) {
            const Tick end = pausing_end(m, trial_.resources, t);
            length = quick = end >= never ? never : end - t;
            if (length >= never) {
                t = never;
                break;
            }
            for (std::int32_t n = 0; n < needs && next == t; ++n) {
                const std::int32_t r = pick[n];
                const std::int32_t spare = resources[r].capacity - need_rows[n].amount;
                next = fit(r, t, o.open && need_rows[n].whole ? holds : length, spare, o);
                if (next > t) blocking = r;
            }
        }
        if (next == t) break;
        t = next;
        if (t > high && t < never) break;
    }
    EarliestFit earliest_fit = at(op, o, m, mode, t, length, quick, limits);
    if (member && trial_.batch >= 0 && earliest_fit.fits &&
        t > state_.batches[ix(trial_.batch)].start) {
        // It comes too late for the batch, which will have to begin when this one can.
        run_.group.missed = std::max(run_.group.missed, t);
        earliest_fit.start = never;
    }
    return earliest_fit;
}

}  // namespace sched::engine
