// How a block is booked: every operation at the first instant at which it can go
// (earliest_fit.hpp), and what gives way when a maximum lag is missed.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/batches.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

// When somebody must set out for what can start then: it is taken up by then. Otherwise whoever is
// there already would always be first, whatever comes next by rank.
Tick Decoder::sets_out(std::int32_t op, const EarliestFit& earliest_fit) const {
    // Where it misses a limit nobody has been chosen.
    if (problem_.walk == 0 || !earliest_fit.fits || earliest_fit.start >= never)
        return earliest_fit.start;
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + earliest_fit.mode)];
    if (m.needs.size() < 2 || !problem_.needs[ix(m.needs.begin)].whole) return earliest_fit.start;
    Tick out = earliest_fit.start;
    for (std::int32_t n = 1; n < m.needs.size(); ++n) {
        const std::int32_t r = fits_.choice.resources[ix(n)];
        const Tick walk = problem_.resources[ix(r)].walk;
        if (walk > 0 && !problem_.needs[ix(m.needs.begin + n)].whole &&
            state_.profile[ix(r)].comes_from_elsewhere(
                earliest_fit.start, problem_.resources[ix(fits_.choice.resources[0])].spot))
            out = std::min(out, earliest_fit.start - walk);
    }
    return out;
}

// Books (amount > 0) or gives back who does the work of `op`, where that is.
void Decoder::attend(std::int32_t op, const CompiledMode& m, Tick from, Tick to, std::int32_t r,
                     std::int32_t amount) {
    const bool at_place = problem_.needs[ix(m.needs.begin)].whole;
    const std::int32_t at =
        at_place
            ? problem_.resources[ix(state_.placed.chosen[ix(problem_.operations[ix(op)].chosen)])]
                  .spot
            : -1;
    state_.profile[ix(r)].book_at(from, to, amount, at);
}

void Decoder::place(std::int32_t op, const EarliestFit& earliest_fit) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + earliest_fit.mode)];
    ++counters_.placed;
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

void Decoder::unplace(std::int32_t op) {
    auto& f = state_.placed;
    while (!extensions_.empty() && extensions_.back().by == op) {
        const Extension e = extensions_.back();
        extensions_.pop_back();
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
void Decoder::batch_ends(std::int32_t batch, Tick end) {
    if (batch < 0) return;
    OpenBatch& b = state_.batches[ix(batch)];
    b.end = end;
    if (b.members < 2) return;
    for (std::int32_t i = b.last_member; i >= 0; i = state_.batch_next[ix(i)])
        state_.placed.end[ix(i)] = end;
}

// A batch under way of which nobody has a follower yet that says when it ends: it may stretch,
// all of it. Others may not: what was booked for one of its members would have to move.
bool Decoder::stays_as_one(std::int32_t batch) const {
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
bool Decoder::extend_holds(std::int32_t op, Tick start, std::int32_t& blamed, Tick& floor) {
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
        extensions_.push_back({l.from, end, need_end, op});
    }
    return true;
}

// Books operations `first`.. of the block; those before stand. False: nothing of them is left
// booked, and `found` says when it is worth trying again (never: something else must happen first).
bool Decoder::book(std::int32_t b, std::size_t first, Tick limit, bool joins, Tick& found) {
    if (problem_.appointments.empty()) return book_all(b, first, limit, joins, found);
    // Its own appointments it keeps itself.
    const Range own = problem_.appointments_of[ix(b)];
    kept_before_.assign(state_.kept_free.begin() + own.begin, state_.kept_free.begin() + own.end);
    for (std::int32_t k = own.begin; k < own.end; ++k)
        keep_free(ix(k), false);
    if (book_all(b, first, limit, joins, found)) return true;
    for (std::int32_t k = own.begin; k < own.end; ++k)
        keep_free(ix(k), kept_before_[ix(k - own.begin)] != 0);
    return false;
}

bool Decoder::book_all(std::int32_t b, std::size_t first, Tick limit, bool joins, Tick& found) {
    const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
    for (std::size_t k = first; k < ops.size(); ++k) {
        const CompiledOperation& o = problem_.operations[ix(ops[k])];
        // What is fixed in the past has happened; from the moment of a plan on it is a pin.
        state_.floor[ix(ops[k])] =
            o.fixed && !problem_.midday ? o.not_before : std::max(o.not_before, state_.now);
        if (k == 0) state_.floor[ix(ops[k])] = std::max(state_.floor[ix(ops[k])], put_off_);
    }
    std::int64_t patience = 100 + 50 * static_cast<std::int64_t>(ops.size());
    // Whoever takes up `tied` cannot do in time what is bound to it. Others are tried first; if
    // none of them can begin before `later`, it waits until then.
    std::int32_t tied = -1;
    Tick later = never;
    bool others = true;
    fits_.avoid_nobody();
    std::size_t k = first;
    const auto back_to = [&](std::size_t to) {
        while (k > to)
            unplace(ops[--k]);
    };
    const auto give_up = [&](Tick when) {
        fits_.avoid_nobody();
        back_to(first);
        found = when;
        waits_for_ = fits_.blocking;
        return false;
    };
    while (k < ops.size()) {
        const std::int32_t op = ops[k];
        const EarliestFit earliest_fit =
            knows_first_ ? first_fit_ : fits_.find(op, state_.floor[ix(op)], joins);
        knows_first_ = false;
        if (op == tied && (earliest_fit.start >= later || !earliest_fit.fits)) {
            others = later < never;
            if (others) state_.floor[ix(op)] = later;
            tied = -1;
            later = never;
            fits_.avoid_nobody();
            if (--patience < 0) return give_up(never);
            continue;
        }
        const Tick out = k == 0 ? sets_out(op, earliest_fit) : earliest_fit.start;
        // Nothing but its own needs held the first operation back: that holds for its whole kind.
        const std::int32_t kind = state_.waiting.kind_of(b);
        if (k == 0 && kind >= 0 && !run_.sequence->keeps_turn && tied < 0 && out > limit &&
            fits_.low <= state_.now && state_.floor[ix(op)] <= state_.now) {
            state_.waiting.sleep_kind(kind, out >= never ? never : out - lookahead_,
                                      fits_.blocking);
        }
        if (const std::int32_t by = earliest_fit.fits || !others || fits_.blocking < 0 || k == first
                                        ? -1
                                        : fits_.bound_to(op, fits_.blocking);
            by >= 0 && (tied < 0 || tied == by) && !fits_.avoids(by, fits_.blocking)) {
            const auto to = static_cast<std::size_t>(problem_.operations[ix(by)].place);
            if (to >= first && --patience >= 0) {
                tied = by;
                if (earliest_fit.cause == by)
                    later = std::min(later, state_.placed.start[ix(by)] + earliest_fit.over);
                fits_.avoid(by, fits_.blocking);
                back_to(to);
                continue;
            }
        }
        if (earliest_fit.start >= never) return give_up(never);
        if (k == 0 && out > limit) {
            if (!earliest_fit.fits) return give_up(never);
            return give_up(out);
        }
        std::int32_t blamed = earliest_fit.cause;
        if (!earliest_fit.fits) {
            if (blamed < 0) return give_up(never);
            state_.floor[ix(blamed)] = state_.placed.start[ix(blamed)] + earliest_fit.over;
        } else {
            Tick floor = 0;
            if (extend_holds(op, earliest_fit.start, blamed, floor)) {
                place(op, earliest_fit);
                ++k;
                continue;
            }
            unplace(op);  // takes back the holds already stretched for it
            if (blamed < 0 || floor >= never) return give_up(never);
            state_.floor[ix(blamed)] = std::max(floor, state_.placed.start[ix(blamed)] + 1);
        }
        const auto to = static_cast<std::size_t>(problem_.operations[ix(blamed)].place);
        if (problem_.operations[ix(blamed)].block != b || to < first) {
            run_.fail(Obstacle::Limits, op);
            return give_up(never);
        }
        if (--patience < 0) {
            run_.fail(Obstacle::Limits, op);
            return give_up(never);
        }
        back_to(to);
    }
    fits_.avoid_nobody();
    if (!consistent(b)) {
        run_.fail(Obstacle::Limits, ops.front());
        return give_up(never);
    }
    return true;
}

// What booking forward cannot see: ends that grew after a follower was placed, batches whose
// members differ.
bool Decoder::consistent(std::int32_t b) const {
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
