// Most blocks that are tried cannot begin, since somebody of a lower rank has taken the person or
// the place that came free. Whether the first operation can is found out without the rest of the
// block; and what was found for another block that asks for the same people and places is taken as
// long as their timelines are the same.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

namespace {

// The only place of an operation that takes no time and stands there until the next of its block
// begins at the same place: it is needed from the start on, whenever that next one begins. -1:
// none.
std::int32_t place_taken_at_once(const CompiledProblem& p, const CompiledOperation& o,
                                 const CompiledMode& m) {
    if (m.work > 0 || m.stages.size() > 0 || o.stretch < never || o.open || o.fixed ||
        o.modes.size() != 1 || o.batch_family >= 0 || o.same_resource.size() > 0 ||
        m.needs.size() != 1)
        return -1;
    const CompiledNeed& need = p.needs[ix(m.needs.begin)];
    if (!need.whole || need.any_of.size() != 1) return -1;
    const std::int32_t place = p.candidates[ix(need.any_of.begin)];
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = p.out_rows[ix(k)];
        if (l.cross || l.edge != core::Edge::End || l.max != 0) continue;
        const CompiledOperation& next = p.operations[ix(l.to)];
        const CompiledMode& then = p.modes[ix(next.modes.begin)];
        if (next.modes.size() != 1 || then.work <= 0) continue;
        for (std::int32_t n = then.needs.begin; n < then.needs.end; ++n) {
            const CompiledNeed& x = p.needs[ix(n)];
            if (x.whole && x.any_of.size() == 1 && x.amount >= need.amount &&
                p.candidates[ix(x.any_of.begin)] == place)
                return place;
        }
    }
    return -1;
}

// All ways to do it ask for the same people and places for the same known time: they differ in what
// it takes from stores and in what comes after it.
bool asks_alike(const CompiledProblem& p, const CompiledOperation& o) {
    if (o.happened || o.pausable || o.batch_family >= 0) return false;
    const CompiledMode& first = p.modes[ix(o.modes.begin)];
    for (std::int32_t i = o.modes.begin; i < o.modes.end; ++i) {
        const CompiledMode& m = p.modes[ix(i)];
        if (m.ask < 0 || m.ask != first.ask || m.work != first.work || m.overlaps ||
            m.stages.size() > 0)
            return false;
    }
    return true;
}

}  // namespace

// What book() would find out with the first operation of the block alone, if that needs people and
// places only: it cannot start by `limit`. False: it can, or it takes more than a look to know.
bool Decoder::cannot_begin(std::int32_t b, std::int32_t op, Tick limit, Tick& found) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    // book() frees whom the block itself keeps.
    if (!problem_.appointments.empty() && problem_.appointments_of[ix(b)].size() > 0) return false;
    const CompiledMode& m = problem_.modes[ix(o.modes.begin)];
    if (const std::int32_t place = place_taken_at_once(problem_, o, m); place >= 0) {
        const CompiledResource& r = problem_.resources[ix(place)];
        const Tick from = std::max({fits_.limits_of(op, o, m).low, o.not_before, state_.now});
        const Tick t = state_.profile[ix(place)].earliest(
            from, 1, r.capacity - problem_.needs[ix(m.needs.begin)].amount);
        if (t <= limit) return false;
        found = t;
        waits_for_ = place;
        return true;
    }
    if (o.open || m.work <= 0) return false;  // drawn or set since it was compiled
    if (!o.plain && !(o.takes.size() > 0 && asks_alike(problem_, o) && !plan_.known_way()))
        return false;
    fits_.avoid_nobody();
    const StartLimits limits = fits_.limits_of(op, o, m);
    // As book() has it.
    const Tick floor =
        o.fixed && !problem_.midday ? o.not_before : std::max(o.not_before, state_.now);
    RememberedFit& fit = fits_.find_plain(op, o, m, std::max(limits.low, floor), limits, limit);
    const Tick t = fit.found;
    if (!o.plain && (t <= limit || (t < never && !fits_.stores_hold(o, t)))) return false;
    first_fit_ = fits_.at(op, o, m, 0, t, m.work, m.work, limits);
    Tick out = t;
    if (t > limit && t < never && first_fit_.fits) {
        if (fit.sets_out >= never) fit.sets_out = fits_.sets_out(op, first_fit_);
        out = fit.sets_out;
    }
    if (out <= limit && !o.plain) return false;  // of which store is not known yet
    if (out <= limit) {
        fits_.choice.batch = -1;
        knows_first_ = true;
        return false;
    }
    // Nothing but its own needs held it back, and nothing shorter could begin either: that holds
    // for all that ask for the same. Not while somebody's turn is kept: what stands before him may
    // go.
    const std::int32_t kind = state_.waiting.kind_of(b);
    if (kind >= 0 && fits_.low <= state_.now && floor <= state_.now && fit.lengths.low < 1 &&
        kept_.empty())
        state_.waiting.sleep_kind(kind, out >= never ? never : out - lookahead_, fits_.blocking);
    found = t >= never || !first_fit_.fits ? never : out;
    waits_for_ = fits_.blocking;
    return true;
}

}  // namespace sched::engine
