// When drying inside a block ends before its booked bound, what follows is booked again: earlier if
// all of it can be, else exactly where it stood.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

void Decoder::book_again(std::int32_t dried_op) {
    const std::int32_t b = problem_.operations[ix(dried_op)].block;
    const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
    auto& f = state_.placed;
    if (plan_.baseline && plan_.all_on_time && plan_.began_on_time[ix(b)] != 0 &&
        f.work_end[ix(dried_op)] == plan_.baseline->work_end[ix(dried_op)])
        return;  // what follows stands where the plan has it
    // The longest tail of which nothing has begun.
    std::size_t first = ops.size();
    while (first > 0 && state_.is_placed[ix(ops[first - 1])] == is_booked &&
           f.start[ix(ops[first - 1])] > state_.now)
        --first;
    if (first == ops.size() ||
        first <= static_cast<std::size_t>(problem_.operations[ix(dried_op)].place))
        return;
    book_tail(dried_op, first, false);
}

// The operations of the block from `first` on, taken out and booked again: sooner, or where they
// stood; or later, since what they follow takes longer than was counted on.
void Decoder::book_tail(std::int32_t dried_op, std::size_t first, bool later) {
    const std::int32_t b = problem_.operations[ix(dried_op)].block;
    const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
    auto& f = state_.placed;
    if (first >= ops.size()) return;
    for (std::size_t k = first; k < ops.size(); ++k) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[ix(op)];
        // Begun; or somebody counts on its end; or shares its exposure.
        const bool stays =
            state_.is_placed[ix(op)] != is_booked || (o.open && state_.open_links[ix(op)] == 0) ||
            (f.batch[ix(op)] >= 0 && (!later || state_.batches[ix(f.batch[ix(op)])].members > 1));
        if (!stays) continue;
        if (later && f.start[ix(ops[first])] < f.work_end[ix(dried_op)]) give_up_day(op);
        return;
    }
    saved_.clear();
    saved_choices_.clear();
    bookings_.keep_stretched();
    for (std::size_t k = ops.size(); k-- > first;) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[ix(op)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + f.mode[ix(op)])];
        Saved s{op,
                f.start[ix(op)],
                f.work_end[ix(op)],
                f.end[ix(op)],
                state_.early[ix(op)],
                f.mode[ix(op)],
                static_cast<std::int32_t>(saved_choices_.size())};
        for (std::int32_t n = 0; n < m.needs.size(); ++n)
            saved_choices_.push_back(f.chosen[ix(o.chosen + n)]);
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t)
            saved_choices_.push_back(f.stores[ix(problem_.takes[ix(t)].index)]);
        saved_.push_back(s);
        bookings_.unplace(op);
    }
    // Those before the tail hold only as long as they must.
    for (std::size_t k = 0; k < first; ++k) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[ix(op)];
        if (o.open || f.end[ix(op)] <= state_.now) continue;
        Tick needed = std::max(f.work_end[ix(op)], state_.now);
        for (std::int32_t q = o.lags_out.begin; q < o.lags_out.end; ++q) {
            const CompiledLag& l = problem_.out_rows[ix(q)];
            if (l.edge == core::Edge::End && l.max < never && state_.is_placed[ix(l.to)])
                needed = std::max(needed, f.start[ix(l.to)] - l.max);
        }
        if (needed >= f.end[ix(op)]) continue;
        set_end(op, needed);
    }
    Tick found = never;
    const auto sooner = [&] {
        if (!book(b, first, never, false, found)) return false;
        bool all = true;
        for (const Saved& s : saved_) {
            // It does not change from a cabinet with a clock to one with typed minutes, nor back:
            // who waits for it has been told which of the two makes its end known.
            const std::int32_t modes = problem_.operations[ix(s.operation)].modes.begin;
            all &= (later || f.start[ix(s.operation)] <= s.start) &&
                   problem_.modes[ix(modes + f.mode[ix(s.operation)])].coupled ==
                       problem_.modes[ix(modes + s.mode)].coupled;
        }
        for (std::size_t k = ops.size(); !all && k-- > first;)
            bookings_.unplace(ops[k]);
        return all;
    };
    plan_.as_planned = plan_.on_time =
        !later && plan_.baseline != nullptr && plan_.all_on_time && plan_.began_on_time[ix(b)] != 0;
    bool ok = plan_.as_planned && sooner();
    plan_.as_planned = plan_.on_time = false;
    if (!ok) ok = sooner();
    bookings_.keep_stretched();
    if (!ok && later) give_up_day(ops[first]);
    if (!ok) {
        for (std::size_t i = saved_.size(); i-- > 0;) {
            const Saved& s = saved_[i];
            const CompiledOperation& o = problem_.operations[ix(s.operation)];
            EarliestFit earliest_fit;
            earliest_fit.start = s.start;
            earliest_fit.work_end = s.work_end < 0 ? s.start : s.work_end;
            earliest_fit.early = s.early;
            earliest_fit.mode = s.mode;
            const Range needs = problem_.modes[ix(o.modes.begin + s.mode)].needs;
            for (std::int32_t n = 0; n < needs.size(); ++n)
                fits_.choice.resources[ix(n)] = saved_choices_[ix(s.choices + n)];
            for (std::int32_t t = 0; t < o.takes.size(); ++t)
                fits_.choice.stores[ix(t)] = saved_choices_[ix(s.choices + needs.size() + t)];
            fits_.choice.batch = -1;
            std::int32_t blamed = -1;
            Tick floor = 0;
            // It held there before; where that is not so any more, this run has no schedule.
            if (!bookings_.extend_holds(s.operation, s.start, blamed, floor)) {
                failure_ = {Obstacle::Limits, core::OperationId{s.operation}};
                stuck_ = true;
            }
            bookings_.place(s.operation, earliest_fit);
            if (s.end > f.end[ix(s.operation)]) set_end(s.operation, s.end);
        }
        bookings_.keep_stretched();
        return;
    }
    for (const Saved& s : saved_) {
        if (problem_.operations[ix(s.operation)].open) {
            held_places_.leave(s.operation);
            held_places_.hold(s.operation);
        }
        const CompiledOperation& o = problem_.operations[ix(s.operation)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + f.mode[ix(s.operation)])];
        // What needs nothing has chosen nothing.
        const bool needed = problem_.modes[ix(o.modes.begin + s.mode)].needs.size() > 0;
        if (f.start[ix(s.operation)] == s.start && needed == (m.needs.size() > 0) &&
            (!needed || f.chosen[ix(o.chosen)] == saved_choices_[ix(s.choices)]))
            continue;
        if (plan_.baseline) release_followers(s.operation);
        if (!awaiting_.empty()) tell_awaiting(s.operation);
        if (m.coupled)
            state_.entries.push(f.start[ix(s.operation)], goes_into_cabinet,
                                static_cast<std::uint32_t>(s.operation));
        for (std::int32_t n = 0; n < m.needs.size(); ++n)
            freed(saved_choices_[ix(s.choices + n)]);
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.in_rows[ix(k)];
            if (!l.cross || !l.hold || state_.open_links[ix(l.from)] != 0) continue;
            const Tick end =
                std::max({f.work_end[ix(l.from)], f.start[ix(s.operation)] - l.max, state_.now});
            if (end < f.end[ix(l.from)]) set_end(l.from, end);
        }
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.out_rows[ix(k)];
            if (l.cross) state_.waiting.wake(problem_.operations[ix(l.to)].block);
        }
    }
}

// What has to move cannot: this run has no schedule.
void Decoder::give_up_day(std::int32_t op) {
    failure_ = {Obstacle::Limits, core::OperationId{op}};
    stuck_ = true;
}

// Moves the end of a placed operation that is not open; its places follow.
void Decoder::set_end(std::int32_t op, Tick end) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const Range ns = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].needs;
    const Tick old = state_.placed.end[ix(op)];
    for (std::int32_t n = ns.begin; n < ns.end; ++n) {
        const CompiledNeed& need = problem_.needs[ix(n)];
        if (!need.whole) continue;
        const std::int32_t r = state_.placed.chosen[ix(o.chosen + n - ns.begin)];
        if (end > old) {
            state_.profile[ix(r)].add(old, end, need.amount);
        } else {
            state_.profile[ix(r)].add(end, old, -need.amount);
            freed(r);
        }
    }
    state_.placed.end[ix(op)] = end;
    if (plan_.baseline) release_followers(op);
}

}  // namespace sched::engine
