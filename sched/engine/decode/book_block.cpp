// How a block is booked: every operation at the first instant at which it can go
// (earliest_fit.hpp), and what gives way when a maximum lag is missed.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/batches.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

// Books operations `first`.. of the block; those before stand. False: nothing of them is left
// booked, and `found` says when it is worth trying again (never: something else must happen first).
bool Decoder::book(std::int32_t b, std::size_t first, Tick limit, bool joins, Tick& found) {
    if (problem_.appointments.empty()) return book_all(b, first, limit, joins, found);
    // Its own appointments it keeps itself.
    appointments_.free_for(b);
    if (book_all(b, first, limit, joins, found)) return true;
    appointments_.keep_as_before(b);
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
            bookings_.unplace(ops[--k]);
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
        const Tick out = k == 0 ? fits_.sets_out(op, earliest_fit) : earliest_fit.start;
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
            if (bookings_.extend_holds(op, earliest_fit.start, blamed, floor)) {
                bookings_.place(op, earliest_fit);
                ++k;
                continue;
            }
            bookings_.unplace(op);  // takes back the holds already stretched for it
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
    if (!bookings_.consistent(b)) {
        run_.fail(Obstacle::Limits, ops.front());
        return give_up(never);
    }
    return true;
}

}  // namespace sched::engine
