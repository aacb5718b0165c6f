// When drying inside a block ends before its booked bound, what follows is booked again: earlier if
// all of it can be, else exactly where it stood.

#include <algorithm>

#include "sched/engine/decoder.hpp"

namespace sched::engine {

namespace {

std::size_t slot(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

}  // namespace

void Decoder::book_again(std::int32_t dried_op) {
    const std::int32_t b = problem_.operations[slot(dried_op)].block;
    const auto ops = problem_.ops_of(problem_.blocks[slot(b)]);
    auto& f = state_.placed;
    // The longest tail of which nothing has begun.
    std::size_t first = ops.size();
    while (first > 0 && state_.is_placed[slot(ops[first - 1])] == 1 &&
           f.start[slot(ops[first - 1])] > state_.now)
        --first;
    if (first == ops.size() ||
        first <= static_cast<std::size_t>(problem_.operations[slot(dried_op)].place))
        return;
    for (std::size_t k = first; k < ops.size(); ++k) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[slot(op)];
        if (o.open && state_.open_links[slot(op)] == 0) return;  // somebody counts on its end
        if (f.batch[slot(op)] >= 0) return;
    }
    saved_.clear();
    saved_choices_.clear();
    extensions_.clear();
    for (std::size_t k = ops.size(); k-- > first;) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[slot(op)];
        const CompiledMode& m = problem_.modes[slot(o.modes.begin + f.mode[slot(op)])];
        Saved s{op,
                f.start[slot(op)],
                f.work_end[slot(op)],
                f.end[slot(op)],
                state_.early[slot(op)],
                f.mode[slot(op)],
                static_cast<std::int32_t>(saved_choices_.size())};
        for (std::int32_t n = 0; n < m.needs.size(); ++n)
            saved_choices_.push_back(f.chosen[slot(o.chosen + n)]);
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t)
            saved_choices_.push_back(f.stores[slot(problem_.takes[slot(t)].index)]);
        saved_.push_back(s);
        unplace(op);
    }
    // Those before the tail hold only as long as they must.
    for (std::size_t k = 0; k < first; ++k) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[slot(op)];
        if (o.open || f.end[slot(op)] <= state_.now) continue;
        Tick needed = std::max(f.work_end[slot(op)], state_.now);
        for (std::int32_t q = o.lags_out.begin; q < o.lags_out.end; ++q) {
            const CompiledLag& l = problem_.lags[slot(problem_.lags_out[slot(q)])];
            if (l.edge == core::Edge::End && l.max < never && state_.is_placed[slot(l.to)])
                needed = std::max(needed, f.start[slot(l.to)] - l.max);
        }
        if (needed >= f.end[slot(op)]) continue;
        set_end(op, needed);
    }
    Tick found = never;
    bool ok = book(b, first, never, false, found);
    if (ok) {
        for (const Saved& s : saved_)
            ok &= f.start[slot(s.operation)] <= s.start;
        if (!ok) {
            for (std::size_t k = ops.size(); k-- > first;)
                unplace(ops[k]);
        }
    }
    extensions_.clear();
    if (!ok) {
        for (std::size_t i = saved_.size(); i-- > 0;) {
            const Saved& s = saved_[i];
            const CompiledOperation& o = problem_.operations[slot(s.operation)];
            Spot spot;
            spot.start = s.start;
            spot.work_end = s.work_end < 0 ? s.start : s.work_end;
            spot.early = s.early;
            spot.mode = s.mode;
            const Range needs = problem_.modes[slot(o.modes.begin + s.mode)].needs;
            for (std::int32_t n = 0; n < needs.size(); ++n)
                best_pick_[slot(n)] = saved_choices_[slot(s.choices + n)];
            for (std::int32_t t = 0; t < o.takes.size(); ++t)
                best_store_[slot(t)] = saved_choices_[slot(s.choices + needs.size() + t)];
            best_batch_ = -1;
            std::int32_t blamed = -1;
            Tick floor = 0;
            const bool held = extend_holds(s.operation, s.start, blamed, floor);
            (void)held;  // it held there before, and nobody has taken anything since
            place(s.operation, spot);
            if (s.end > f.end[slot(s.operation)]) set_end(s.operation, s.end);
        }
        extensions_.clear();
        return;
    }
    for (const Saved& s : saved_) {
        if (f.start[slot(s.operation)] == s.start &&
            f.chosen[slot(problem_.operations[slot(s.operation)].chosen)] ==
                saved_choices_[slot(s.choices)])
            continue;
        const CompiledOperation& o = problem_.operations[slot(s.operation)];
        const CompiledMode& m = problem_.modes[slot(o.modes.begin + f.mode[slot(s.operation)])];
        if (m.coupled)
            state_.entries.push(f.start[slot(s.operation)], 0,
                                static_cast<std::uint32_t>(s.operation));
        for (std::int32_t n = 0; n < m.needs.size(); ++n)
            freed(saved_choices_[slot(s.choices + n)]);
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.lags[slot(problem_.lags_in[slot(k)])];
            if (!l.cross || !l.hold || state_.open_links[slot(l.from)] != 0) continue;
            const Tick end = std::max(
                {f.work_end[slot(l.from)], f.start[slot(s.operation)] - l.max, state_.now});
            if (end < f.end[slot(l.from)]) set_end(l.from, end);
        }
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.lags[slot(problem_.lags_out[slot(k)])];
            if (l.cross) state_.waiting.wake(problem_.operations[slot(l.to)].block);
        }
    }
}

// Moves the end of a placed operation that is not open; its places follow.
void Decoder::set_end(std::int32_t op, Tick end) {
    const CompiledOperation& o = problem_.operations[slot(op)];
    const Range ns = problem_.modes[slot(o.modes.begin + state_.placed.mode[slot(op)])].needs;
    const Tick old = state_.placed.end[slot(op)];
    for (std::int32_t n = ns.begin; n < ns.end; ++n) {
        const CompiledNeed& need = problem_.needs[slot(n)];
        if (!need.whole) continue;
        const std::int32_t r = state_.placed.chosen[slot(o.chosen + n - ns.begin)];
        if (end > old) {
            state_.profile[slot(r)].add(old, end, need.amount);
        } else {
            state_.profile[slot(r)].add(end, old, -need.amount);
            freed(r);
        }
    }
    state_.placed.end[slot(op)] = end;
}

}  // namespace sched::engine
