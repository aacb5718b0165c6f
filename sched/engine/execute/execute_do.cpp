// An operation starts, its work ends, it leaves its places: what that does to the run.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/execute/execute_rows.hpp"

namespace sched::engine {

using namespace execute_rows;

Tick Executor::work_end_after(std::int32_t op, Tick work) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    if (!o.pausable) return now_ + work;
    const CompiledMode& m = mode_of(problem_, plan_, op);
    Tick x = now_, left = work;
    while (true) {
        Tick opens = x, closes = never;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledResource& c = problem_.resources[ix(place_of(o, n))];
            if (!c.has_calendar) continue;
            std::int32_t w = c.windows.begin;
            while (w < c.windows.end && problem_.windows[ix(w)].to <= x)
                ++w;
            if (w == c.windows.end) return x + left;  // after the last window it goes on by itself
            opens = std::max(opens, problem_.windows[ix(w)].from);
            closes = std::min(closes, problem_.windows[ix(w)].to);
        }
        if (left == 0) return x;
        if (opens > x) {
            x = opens;
        } else if (closes - x >= left) {
            return x + left;
        } else {
            left -= closes - x;
            x = closes;
        }
    }
}

void Executor::start(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = mode_of(problem_, plan_, op);
    const auto mode = ix(o.modes.begin + plan_.mode[ix(op)]);
    state_[ix(op)] = works;
    active_.push_back(op);
    passed_ |= substituting_;
    now_placed_.start[ix(op)] = now_;
    now_placed_.mode[ix(op)] = plan_.mode[ix(op)];
    if (now_ > o.not_after) result_.misses.push_back({op, -1, now_ - o.not_after});
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const std::int32_t index = problem_.lags_in[ix(k)];
        const CompiledLag& l = problem_.lags[ix(index)];
        if (sets_end(problem_, l)) {
            // The end of `from` is set by this start.
            const Tick end = std::max(now_placed_.work_end[ix(l.from)], now_ - l.max);
            now_placed_.end[ix(l.from)] = std::max(now_placed_.end[ix(l.from)], end);
            if (--holds_left_[ix(l.from)] == 0) ends(l.from, now_placed_.end[ix(l.from)]);
            const Tick stretch = problem_.operations[ix(l.from)].stretch;
            const Tick held = end - now_placed_.work_end[ix(l.from)];
            if (held > stretch) result_.misses.push_back({op, index, held - stretch});
            continue;
        }
        if (l.max >= never) continue;
        const Tick edge = l.edge == core::Edge::Start     ? now_placed_.start[ix(l.from)]
                          : l.edge == core::Edge::WorkEnd ? now_placed_.work_end[ix(l.from)]
                                                          : now_placed_.end[ix(l.from)];
        if (now_ > edge + l.max) result_.misses.push_back({op, index, now_ - edge - l.max});
    }
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const std::int32_t r = place_of(o, n);
        if (counted_[ix(o.chosen + n)])
            level_resource_[ix(r)] += problem_.needs[ix(m.needs.begin + n)].amount;
        if (r != plan_.chosen[ix(o.chosen + n)]) {
            ++result_.substitutions;
            poke_resource(r);
        }
        poke_resource(plan_.chosen[ix(o.chosen + n)]);
    }
    for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
        const CompiledTake& take = problem_.takes[ix(t)];
        now_placed_.stores[ix(take.index)] = plan_.stores[ix(take.index)];
        level_[ix(plan_.stores[ix(take.index)])] -= take.amount;
    }
    known(op, true);
    if (m.stages.size() > 0) {
        for (std::int32_t s = m.stages.begin; s < m.stages.end; ++s) {
            stages_[ix(s)] = problem_.stages[ix(s)];
            stages_[ix(s)].work *= durations_->drying[mode];
        }
        const std::int32_t r = place_of(o, 0);
        DryingClock& c = clock_[ix(r)];
        if (c.now() < now_) c.advance(now_);
        c.enter(static_cast<std::uint32_t>(op),
                {stages_.data() + m.stages.begin, ix(m.stages.size())});
        collect(r);
        return;
    }
    Tick work = durations_->work[mode];
    if (o.stretch == 0) {  // members that may not stand end together: with the longest
        for_members(op, [&](std::int32_t member) {
            work = std::max(work, durations_->work[ix(problem_.operations[ix(member)].modes.begin +
                                                      plan_.mode[ix(member)])]);
        });
    }
    const Tick end = work_end_after(op, work);
    for (std::int32_t n = 0; n < m.needs.size() && !o.pausable; ++n) {
        const CompiledResource& c = problem_.resources[ix(place_of(o, n))];
        if (problem_.needs[ix(m.needs.begin + n)].whole || !c.has_calendar) continue;
        for (std::int32_t w = c.windows.begin; w < c.windows.end; ++w) {
            const CompiledWindow& x = problem_.windows[ix(w)];
            if (x.from <= now_ && now_ < x.to) result_.overrun += std::max<Tick>(0, end - x.to);
        }
    }
    if (end == now_) {
        work_ends(op);
    } else {
        queue_.push(end, WorkEnds, static_cast<std::uint32_t>(op));
    }
}

void Executor::collect(std::int32_t r) {
    DryingClock& c = clock_[ix(r)];
    for (std::size_t i = 0; i < c.dry().size(); ++i) {
        const auto op = static_cast<std::int32_t>(c.dry()[i].who);
        const CompiledOperation& o = problem_.operations[ix(op)];
        const Tick handling =
            now_placed_.start[ix(op)] + durations_->work[ix(o.modes.begin + plan_.mode[ix(op)])];
        const Tick done = std::max({c.dry()[i].at, handling, now_});
        queue_.push(done, WorkEnds, static_cast<std::uint32_t>(op));
    }
    c.clear_dry();
    const auto next = c.next_change();
    clock_next_[ix(r)] = next ? *next : never;
}

void Executor::release(std::int32_t op, bool whole) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = mode_of(problem_, plan_, op);
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
        if (need.whole != whole || !counted_[ix(o.chosen + n)]) continue;
        const std::int32_t r = place_of(o, n);
        level_resource_[ix(r)] -= need.amount;
        freed_ = true;
        poke_resource(r);
    }
}

void Executor::work_ends(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    ++result_.events;
    now_placed_.work_end[ix(op)] = now_;
    state_[ix(op)] = holds;
    release(op, false);
    for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
        const CompiledGive& give = problem_.gives[ix(g)];
        level_[ix(give.store)] += give.amount;
        for (std::size_t i = 0; i < takers_.size(); ++i)
            poke(takers_[i]);
    }
    if (holds_left_[ix(op)] == 0) ends(op, std::max(now_, now_placed_.end[ix(op)]));
    known(op, false);
}

void Executor::ends(std::int32_t op, Tick end) {
    now_placed_.end[ix(op)] = end;
    if (state_[ix(op)] == ended) return;
    state_[ix(op)] = ended;
    active_.erase(std::find(active_.begin(), active_.end(), op));
    --left_;
    release(op, true);
}

void Executor::look(std::int32_t op) {
    if (state_[ix(op)] != waits || missing_[ix(op)] > 0) return;
    Tick again = never;
    bool all = true;
    for_members(op, [&](std::int32_t member) {
        if (!all) return;
        all = missing_[ix(member)] == 0 && may_start(member, again);
        if (missing_[ix(member)] > 0) again = never;
    });
    if (all) {
        for_members(op, [&](std::int32_t member) { start(member); });
    } else if (again > now_ && again < never) {
        if (looked_[ix(op)] == again) return;
        looked_[ix(op)] = again;
        queue_.push(again, Look, static_cast<std::uint32_t>(op), 1);
    }
    if (state_[ix(op)] == waits && options_.substitute && !is_late_[ix(op)] &&
        now_ >= plan_.start[ix(op)]) {
        is_late_[ix(op)] = 1;
        late_list_.push_back(op);
        queue_.push(now_ + 1, Look, static_cast<std::uint32_t>(op), 1);  // somebody else may do it
        queue_.push(std::max(now_, plan_.start[ix(op)] + options_.patience) + 1, Look,
                    static_cast<std::uint32_t>(op), 1);  // it may pass
    }
}

}  // namespace sched::engine
