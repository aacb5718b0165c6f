// One operation is written into the timelines of its places, people and stores, or taken out of
// them again; what holds a place for it stretches up to its start.

#include "sched/engine/decode/bookings.hpp"

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/batches.hpp"

namespace sched::engine {

// Books (amount > 0) or gives back who does the work of `op`, where that is.
void Bookings::attend(std::int32_t op, const CompiledMode& m, Tick from, Tick to, std::int32_t r,
                      std::int32_t amount) {
    const bool at_place = problem_.needs[ix(m.needs.begin)].whole;
    const std::int32_t at =
        at_place
            ? problem_.resources[ix(state_.placed.chosen[ix(problem_.operations[ix(op)].chosen)])]
                  .spot
            : -1;
    state_.profile[ix(r)].book_at(from, to, amount, at);
}

void Bookings::place(std::int32_t op, const EarliestFit& earliest_fit) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + earliest_fit.mode)];
    ++placed_;
    auto& f = state_.placed;
    const bool unknown = o.open && m.coupled;
    state_.is_placed[ix(op)] = is_booked;
    f.mode[ix(op)] = earliest_fit.mode;
    f.start[ix(op)] = earliest_fit.start;
    f.work_end[ix(op)] = unknown ? -1 : earliest_fit.work_end;
    f.end[ix(op)] = o.open ? -1 : earliest_fit.work_end;
    state_.early[ix(op)] = earliest_fit.early;
    f.batch[ix(op)] = -1;
    plan_.hold_until[ix(op)] =
        o.open && plan_.known_way() && earliest_fit.start <= plan_.baseline->start[ix(op)]
            ? std::max(plan_.baseline->end[ix(op)], earliest_fit.start)
            : never;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
        const std::int32_t r = fits_.choice.resources[ix(n)];
        f.chosen[ix(o.chosen + n)] = r;
        state_.shared[ix(o.chosen + n)] = 0;
        if (problem_.resources[ix(r)].has_batch && o.batch_family >= 0 && !o.open && !m.coupled) {
            if (fits_.choice.batch >= 0) {
                OpenBatch& b = state_.batches[ix(fits_.choice.batch)];
                f.batch[ix(op)] = fits_.choice.batch;
                ++b.members;
                state_.batch_next[ix(op)] = b.last_member;
                b.last_member = op;
                f.end[ix(op)] = std::max(f.end[ix(op)], b.end);
                continue;
            }
            f.batch[ix(op)] = static_cast<std::int32_t>(state_.batches.size());
            state_.batch_next[ix(op)] = -1;  // it may have been with others in a try before
            state_.batches.push_back({r, earliest_fit.start, earliest_fit.work_end,
                                      earliest_fit.work_end, o.batch_family, 1, op});
            if (run_.group.booking && groups_.sharer(o.block) == op)
                run_.group.batch = f.batch[ix(op)];
        }
        if (fits_.choice.batch >= 0 && minds(problem_, state_, fits_.choice.batch, r, op)) {
            state_.shared[ix(o.chosen + n)] = 1;
            continue;
        }
        if (!need.whole && problem_.resources[ix(r)].walk > 0) {
            attend(op, m, earliest_fit.start, earliest_fit.work_end, r, 1);
            continue;
        }
        const bool open = o.open && (need.whole || m.coupled);
        state_.profile[ix(r)].add(earliest_fit.start,
                                  open ? plan_.hold_until[ix(op)] : earliest_fit.work_end,
                                  need.amount);
    }
    for (std::int32_t k = o.takes.begin; k < o.takes.end; ++k) {
        const CompiledTake& take = problem_.takes[ix(k)];
        const std::int32_t store = fits_.choice.stores[ix(k - o.takes.begin)];
        f.stores[ix(take.index)] = store;
        state_.ledger[ix(store)].add(earliest_fit.start, -take.amount);
    }
    if (!m.coupled) {
        for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
            const CompiledGive& give = problem_.gives[ix(g)];
            state_.ledger[ix(give.store)].add(earliest_fit.work_end, give.amount);
        }
    }
}

void Bookings::unplace(std::int32_t op) {
    auto& f = state_.placed;
    while (!stretched_.empty() && stretched_.back().by == op) {
        const Stretch e = stretched_.back();
        stretched_.pop_back();
        const CompiledOperation& a = problem_.operations[ix(e.operation)];
        const Range ns = problem_.modes[ix(a.modes.begin + f.mode[ix(e.operation)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (!problem_.needs[ix(n)].whole) continue;
            state_.profile[ix(f.chosen[ix(a.chosen + n - ns.begin)])].add(
                std::max(e.before, state_.now), e.after, -problem_.needs[ix(n)].amount);
        }
        f.end[ix(e.operation)] = e.before;
        batch_ends(f.batch[ix(e.operation)], e.before);
    }
    const CompiledOperation& o = problem_.operations[ix(op)];
    if (!state_.is_placed[ix(op)]) return;
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + f.mode[ix(op)])];
    state_.is_placed[ix(op)] = 0;
    const std::int32_t batch = f.batch[ix(op)];
    f.batch[ix(op)] = -1;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
        const std::int32_t r = f.chosen[ix(o.chosen + n)];
        if (batch >= 0 && state_.batches[ix(batch)].resource == r) {
            OpenBatch& b = state_.batches[ix(batch)];
            // Members leave in the reverse order of joining.
            b.last_member = state_.batch_next[ix(op)];
            if (--b.members > 0) continue;
        } else if (state_.shared[ix(o.chosen + n)]) {
            continue;
        }
        if (!need.whole && problem_.resources[ix(r)].walk > 0) {
            attend(op, m, f.start[ix(op)], f.work_end[ix(op)], r, -1);
            continue;
        }
        const bool open = o.open && (need.whole || m.coupled);
        state_.profile[ix(r)].add(
            f.start[ix(op)],
            open ? plan_.hold_until[ix(op)] : (need.whole ? f.end[ix(op)] : f.work_end[ix(op)]),
            -need.amount);
    }
    if (batch >= 0 && state_.batches[ix(batch)].members == 0 &&
        ix(batch) + 1 == state_.batches.size()) {
        state_.batches.pop_back();
    }
    if (run_.group.booking && batch == run_.group.batch && groups_.sharer(o.block) == op &&
        (ix(batch) >= state_.batches.size() || state_.batches[ix(batch)].members == 0))
        run_.group.batch = -1;
    for (std::int32_t k = o.takes.begin; k < o.takes.end; ++k) {
        const CompiledTake& take = problem_.takes[ix(k)];
        state_.ledger[ix(f.stores[ix(take.index)])].remove(f.start[ix(op)], -take.amount);
    }
    if (!m.coupled) {
        for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
            const CompiledGive& give = problem_.gives[ix(g)];
            state_.ledger[ix(give.store)].remove(f.work_end[ix(op)], give.amount);
        }
    }
}

// All that share it end when it ends. -1: no batch.
void Bookings::batch_ends(std::int32_t batch, Tick end) {
    if (batch < 0) return;
    OpenBatch& b = state_.batches[ix(batch)];
    b.end = end;
    if (b.members < 2) return;
    for (std::int32_t i = b.last_member; i >= 0; i = state_.batch_next[ix(i)])
        state_.placed.end[ix(i)] = end;
}

// A batch under way of which nobody has a follower yet that says when it ends: it may stretch,
// all of it. Others may not: what was booked for one of its members would have to move.
bool Bookings::stays_as_one(std::int32_t batch) const {
    for (std::int32_t i = state_.batches[ix(batch)].last_member; i >= 0;
         i = state_.batch_next[ix(i)]) {
        const CompiledOperation& o = problem_.operations[ix(i)];
        if (!o.begun || o.stretch < never) return false;
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.out_rows[ix(k)];
            if (l.edge == core::Edge::End && state_.is_placed[ix(l.to)]) return false;
        }
    }
    return true;
}

// Before `op` starts at `start`: those whose end waits for it stretch up to there. False: their
// place is wanted by somebody else in between, so `blamed` has to start at `floor` or later.
bool Bookings::extend_holds(std::int32_t op, Tick start, std::int32_t& blamed, Tick& floor) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = problem_.in_rows[ix(k)];
        if (l.cross || l.edge != core::Edge::End || l.max >= never || !state_.is_placed[ix(l.from)])
            continue;
        const Tick need_end = start - l.max;
        const Tick end = state_.placed.end[ix(l.from)];
        if (need_end <= end) continue;
        const CompiledOperation& a = problem_.operations[ix(l.from)];
        // What the profile has forgotten may have been taken by somebody else.
        for (const Standing& s : state_.standing) {
            if (s.operation != l.from || need_end <= s.leave_by) continue;
            blamed = l.from;
            floor = never;
            return false;
        }
        const std::int32_t batch = state_.placed.batch[ix(l.from)];
        if (a.begun && end < state_.now && !plan_.known_way() && !standing_.stands(l.from)) {
            blamed = l.from;
            floor = never;
            return false;
        }
        if (batch >= 0 && !plan_.sure && state_.batches[ix(batch)].members > 1 &&
            !stays_as_one(batch)) {
            blamed = -1;
            return false;
        }
        const Range ns = problem_.modes[ix(a.modes.begin + state_.placed.mode[ix(l.from)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end && !plan_.sure; ++n) {
            const CompiledNeed& need = problem_.needs[ix(n)];
            if (!need.whole) continue;
            const std::int32_t r = state_.placed.chosen[ix(a.chosen + n - ns.begin)];
            const CompiledResource& c = problem_.resources[ix(r)];
            const Profile& profile = state_.profile[ix(r)];
            const Tick x =
                profile.free_until(std::max(end, state_.now), need_end, c.capacity - need.amount);
            if (x < need_end) {
                blamed = l.from;
                floor = profile.earliest_taken(x, 1, c.capacity - need.amount);
                fits_.blocking = r;
                return false;
            }
            if (!c.has_calendar || a.pausable || a.happened) continue;
            // The window in which it came may be over by now.
            const auto windows = problem_.windows_of(c);
            const auto after =
                std::upper_bound(windows.begin(), windows.end(), state_.placed.start[ix(l.from)],
                                 [](Tick t, const CompiledWindow& w) { return t < w.from; });
            if (after != windows.begin() && need_end > std::prev(after)->to) {
                const bool over = std::prev(after)->to <= state_.now;
                blamed = l.from;
                floor = over ? never : std::prev(after)->to;
                fits_.blocking = r;
                return false;
            }
        }
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (!problem_.needs[ix(n)].whole) continue;
            state_.profile[ix(state_.placed.chosen[ix(a.chosen + n - ns.begin)])].add(
                std::max(end, state_.now), need_end, problem_.needs[ix(n)].amount);
        }
        state_.placed.end[ix(l.from)] = need_end;
        batch_ends(batch, need_end);
        stretched_.push_back({l.from, end, need_end, op});
    }
    return true;
}

// What booking forward cannot see: ends that grew after a follower was placed, batches whose
// members differ.
bool Bookings::consistent(std::int32_t b) const {
    const auto& f = state_.placed;
    for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
        const CompiledOperation& o = problem_.operations[ix(op)];
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.out_rows[ix(k)];
            if (l.cross || o.open) continue;
            const Tick from =
                l.edge == core::Edge::Start
                    ? f.start[ix(op)]
                    : (l.edge == core::Edge::WorkEnd ? f.work_end[ix(op)] : f.end[ix(op)]);
            const Tick early = l.edge == core::Edge::WorkEnd ? state_.early[ix(op)] : from;
            if (f.start[ix(l.to)] < from + l.min ||
                (l.max < never && f.start[ix(l.to)] > early + l.max))
                return false;
        }
        if (f.batch[ix(op)] >= 0 && f.end[ix(op)] != state_.batches[ix(f.batch[ix(op)])].end)
            return false;
    }
    return true;
}

}  // namespace sched::engine
