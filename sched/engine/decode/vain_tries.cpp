// Most blocks that are tried cannot begin, since somebody of a lower rank has taken the person or
// the place that came free. Whether the first operation can is found out without the rest of the
// block; and what was found for another block that asks for the same people and places is taken as
// long as their timelines are the same.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

namespace {

constexpr std::uint64_t no_way = ~std::uint64_t{0};

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

}  // namespace

// In which order the candidates of each need are looked at, and who it must be, in one number; 0:
// as they stand, anybody. no_way: the number does not say it.
std::uint64_t Decoder::way_of(std::int32_t op, const CompiledOperation& o,
                              const CompiledMode& m) const {
    const std::uint32_t turn = sequence_->choice.empty() ? 0 : sequence_->choice[ix(op)];
    const bool followed = baseline_ != nullptr && baseline_->start[ix(op)] > -never;
    const bool tied = o.same_resource.size() > 0;
    if (turn == 0 && !followed && !tied) return 0;
    std::uint64_t way = 0;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const Range any_of = problem_.needs[ix(m.needs.begin + n)].any_of;
        const std::int32_t* const any = problem_.candidates.data() + any_of.begin;
        const std::int32_t size = any_of.size();
        std::int32_t must = tied ? forced(op, n) : -1, first = 0;
        if (size > 1) {
            first = static_cast<std::int32_t>(turn % static_cast<std::uint32_t>(size));
            if (followed) first = planned_first(op, n, any, size, must);
        }
        if (must >= 0) {
            first = static_cast<std::int32_t>(std::find(any, any + size, must) - any);
            if (first == size) return no_way;
        }
        if (first >= 64) return no_way;
        if (must >= 0) first |= 64;
        way = way << 8 | static_cast<std::uint64_t>(first);
    }
    return way;
}

// What book() would find out with the first operation of the block alone, if that needs people and
// places only: it cannot start by `limit`. False: it can, or it takes more than a look to know.
bool Decoder::cannot_begin(std::int32_t b, std::int32_t op, Tick limit, Tick& found) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    // book() frees whom the block itself keeps.
    if (!problem_.appointments.empty() && problem_.appointments_of[ix(b)].size() > 0) return false;
    const CompiledMode& m = problem_.modes[ix(o.modes.begin)];
    if (const std::int32_t place = place_taken_at_once(problem_, o, m); place >= 0) {
        const CompiledResource& r = problem_.resources[ix(place)];
        const Tick from = std::max({limits_of(op, o, m).low, o.not_before, state_.now});
        const Tick t = state_.profile[ix(place)].earliest(
            from, 1, r.capacity - problem_.needs[ix(m.needs.begin)].amount);
        if (t <= limit) return false;
        found = t;
        waits_for_ = place;
        return true;
    }
    if (!o.plain || o.open) return false;
    if (m.work <= 0) return false;  // drawn or set since it was compiled
    avoided_.clear();
    pick_batch_ = -1;
    blocking_ = -1;
    const Limits limits = limits_of(op, o, m);
    low_ = limits.low;
    // As book() has it.
    const Tick floor =
        o.fixed && !problem_.midday ? o.not_before : std::max(o.not_before, state_.now);
    const Tick from = std::max(limits.low, floor);

    const std::uint64_t way =
        m.ask >= 0 && m.needs.size() <= RememberedFit::most_needs ? way_of(op, o, m) : no_way;
    RememberedFit once;
    RememberedFit* fit = &once;
    if (way == no_way) {
        fit->found = fit_plain(op, o, m, from, limits.high, fit->lengths, fit->last);
        best_pick_.swap(pick_);
    } else {
        RememberedFits::Ask& ask = remembered_.of(problem_, m);
        std::uint64_t changes = 0;
        for (const std::int32_t r : ask.resources)
            changes += state_.profile[ix(r)].changes();
        fit = ask.find(changes, from, way, m.work, limits.high);
        if (fit != nullptr) {
            blocking_ = fit->blocking;
            std::copy_n(fit->pick.begin(), m.needs.size(), best_pick_.begin());
        } else {
            fit = &once;
            fit->found = fit_plain(op, o, m, from, limits.high, fit->lengths, fit->last);
            best_pick_.swap(pick_);
            // Beyond its latest start nobody has looked on.
            if (fit->found <= limits.high || fit->found >= never) {
                fit->changes = changes;
                fit->from = from;
                fit->way = way;
                fit->blocking = blocking_;
                std::copy_n(best_pick_.begin(), m.needs.size(), fit->pick.begin());
                fit = &ask.add(once);
            }
        }
    }
    const Tick t = fit->found;
    first_fit_ = {};
    first_fit_.mode = 0;
    first_fit_ = earliest_fit_at(op, o, m, first_fit_, t, m.work, m.work, limits);
    Tick out = t;
    if (t > limit && t < never && first_fit_.fits) {
        if (fit->sets_out >= never) fit->sets_out = sets_out(op, first_fit_);
        out = fit->sets_out;
    }
    if (out <= limit) {
        best_batch_ = -1;
        knows_first_ = true;
        return false;
    }
    // Nothing but its own needs held it back, and nothing shorter could begin either: that holds
    // for all that ask for the same. Not while somebody's turn is kept: what stands before him may
    // go.
    const std::int32_t kind = state_.waiting.kind_of(b);
    if (kind >= 0 && low_ <= state_.now && floor <= state_.now && fit->lengths.low < 1 &&
        kept_.empty())
        state_.waiting.sleep_kind(kind, out >= never ? never : out - lookahead_, blocking_);
    found = t >= never || !first_fit_.fits ? never : out;
    waits_for_ = blocking_;
    return true;
}

}  // namespace sched::engine
