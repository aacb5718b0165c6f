// Most blocks that are tried cannot begin, since somebody of a lower rank has taken the person or
// the place that came free. Whether the first operation can is found out without the rest of the
// block; and what was found for another block that asks for the same people and places is taken as
// long as their timelines are the same.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

// What book() would find out with the first operation of the block alone, if that needs people and
// places only: it cannot start by `limit`. False: it can, or it takes more than a look to know.
bool Decoder::cannot_begin(std::int32_t b, std::int32_t op, Tick limit, Tick& found) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    if (!o.plain || o.open) return false;
    // book() frees whom the block itself keeps.
    if (!problem_.appointments.empty() && problem_.appointments_of[ix(b)].size() > 0) return false;
    const CompiledMode& m = problem_.modes[ix(o.modes.begin)];
    if (m.work <= 0) return false;  // drawn or set since it was compiled
    fits_.avoid_nobody();
    const StartLimits limits = fits_.limits_of(op, o, m);
    // As book() has it.
    const Tick floor =
        o.fixed && !problem_.midday ? o.not_before : std::max(o.not_before, state_.now);
    RememberedFit& fit = fits_.find_plain(op, o, m, std::max(limits.low, floor), limits);
    const Tick t = fit.found;
    first_fit_ = fits_.at(op, o, m, 0, t, m.work, m.work, limits);
    Tick out = t;
    if (t > limit && t < never && first_fit_.fits) {
        if (fit.sets_out >= never) fit.sets_out = sets_out(op, first_fit_);
        out = fit.sets_out;
    }
    if (out <= limit) {
        fits_.choice.batch = -1;
        knows_first_ = true;
        return false;
    }
    // Nothing but its own needs held it back: that holds for its whole kind.
    const std::int32_t kind = state_.waiting.kind_of(b);
    if (kind >= 0 && fits_.low <= state_.now && floor <= state_.now)
        state_.waiting.sleep_kind(kind, out >= never ? never : out - lookahead_, fits_.blocking);
    found = t >= never || !first_fit_.fits ? never : out;
    waits_for_ = fits_.blocking;
    return true;
}

}  // namespace sched::engine
