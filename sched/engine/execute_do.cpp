// An operation starts, its work ends, it leaves its places: what that does to the run.

#include <algorithm>

#include "sched/engine/execute_rows.hpp"

namespace sched::engine {

using namespace execute_rows;

Tick Executor::work_end_after(std::int32_t op, Tick work) const {
    const CompiledOperation& o = problem_.operations[u(op)];
    if (!o.pausable) return now_ + work;
    const CompiledMode& m = mode_of(problem_, plan_, op);
    Tick x = now_, left = work;
    while (true) {
        Tick opens = x, closes = never;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledResource& c = problem_.resources[u(place_of(o, n))];
            if (!c.has_calendar) continue;
            std::int32_t w = c.windows.begin;
            while (w < c.windows.end && problem_.windows[u(w)].to <= x)
                ++w;
            if (w == c.windows.end) return x + left;  // after the last window it goes on by itself
            opens = std::max(opens, problem_.windows[u(w)].from);
            closes = std::min(closes, problem_.windows[u(w)].to);
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
    const CompiledOperation& o = problem_.operations[u(op)];
    const CompiledMode& m = mode_of(problem_, plan_, op);
    const auto mode = u(o.modes.begin + plan_.mode[u(op)]);
    state_[u(op)] = works;
    active_.push_back(op);
    passed_ |= substituting_;
    now_placed_.start[u(op)] = now_;
    now_placed_.mode[u(op)] = plan_.mode[u(op)];
    if (now_ > o.not_after) result_.misses.push_back({op, -1, now_ - o.not_after});
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const std::int32_t index = problem_.lags_in[u(k)];
        const CompiledLag& l = problem_.lags[u(index)];
        if (sets_end(problem_, l)) {
            // The end of `from` is set by this start.
            const Tick end = std::max(now_placed_.work_end[u(l.from)], now_ - l.max);
            now_placed_.end[u(l.from)] = std::max(now_placed_.end[u(l.from)], end);
            if (--holds_left_[u(l.from)] == 0) ends(l.from, now_placed_.end[u(l.from)]);
            const Tick stretch = problem_.operations[u(l.from)].stretch;
            const Tick held = end - now_placed_.work_end[u(l.from)];
            if (held > stretch) result_.misses.push_back({op, index, held - stretch});
            continue;
        }
        if (l.max >= never) continue;
        const Tick edge = l.edge == core::Edge::Start     ? now_placed_.start[u(l.from)]
                          : l.edge == core::Edge::WorkEnd ? now_placed_.work_end[u(l.from)]
                                                          : now_placed_.end[u(l.from)];
        if (now_ > edge + l.max) result_.misses.push_back({op, index, now_ - edge - l.max});
    }
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const std::int32_t r = place_of(o, n);
        if (counted_[u(o.chosen + n)])
            level_resource_[u(r)] += problem_.needs[u(m.needs.begin + n)].amount;
        if (r != plan_.chosen[u(o.chosen + n)]) {
            ++result_.substitutions;
            poke_resource(r);
        }
        poke_resource(plan_.chosen[u(o.chosen + n)]);
    }
    for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
        const CompiledTake& take = problem_.takes[u(t)];
        now_placed_.stores[u(take.index)] = plan_.stores[u(take.index)];
        level_[u(plan_.stores[u(take.index)])] -= take.amount;
    }
    known(op, true);
    if (m.stages.size() > 0) {
        for (std::int32_t s = m.stages.begin; s < m.stages.end; ++s) {
            stages_[u(s)] = problem_.stages[u(s)];
            stages_[u(s)].work *= durations_->drying[mode];
        }
        const std::int32_t r = place_of(o, 0);
        DryingClock& c = clock_[u(r)];
        if (c.now() < now_) c.advance(now_);
        c.enter(static_cast<std::uint32_t>(op),
                {stages_.data() + m.stages.begin, u(m.stages.size())});
        collect(r);
        return;
    }
    Tick work = durations_->work[mode];
    if (o.stretch == 0) {  // members that may not stand end together: with the longest
        for_members(op, [&](std::int32_t member) {
            work = std::max(work, durations_->work[u(problem_.operations[u(member)].modes.begin +
                                                     plan_.mode[u(member)])]);
        });
    }
    const Tick end = work_end_after(op, work);
    for (std::int32_t n = 0; n < m.needs.size() && !o.pausable; ++n) {
        const CompiledResource& c = problem_.resources[u(place_of(o, n))];
        if (problem_.needs[u(m.needs.begin + n)].whole || !c.has_calendar) continue;
        for (std::int32_t w = c.windows.begin; w < c.windows.end; ++w) {
            const CompiledWindow& x = problem_.windows[u(w)];
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
    DryingClock& c = clock_[u(r)];
    for (std::size_t i = 0; i < c.dry().size(); ++i) {
        const auto op = static_cast<std::int32_t>(c.dry()[i].who);
        const CompiledOperation& o = problem_.operations[u(op)];
        const Tick handling =
            now_placed_.start[u(op)] + durations_->work[u(o.modes.begin + plan_.mode[u(op)])];
        const Tick done = std::max({c.dry()[i].at, handling, now_});
        queue_.push(done, WorkEnds, static_cast<std::uint32_t>(op));
    }
    c.clear_dry();
    const auto next = c.next_change();
    clock_next_[u(r)] = next ? *next : never;
}

void Executor::release(std::int32_t op, bool whole) {
    const CompiledOperation& o = problem_.operations[u(op)];
    const CompiledMode& m = mode_of(problem_, plan_, op);
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[u(m.needs.begin + n)];
        if (need.whole != whole || !counted_[u(o.chosen + n)]) continue;
        const std::int32_t r = place_of(o, n);
        level_resource_[u(r)] -= need.amount;
        freed_ = true;
        poke_resource(r);
    }
}

void Executor::work_ends(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[u(op)];
    ++result_.events;
    now_placed_.work_end[u(op)] = now_;
    state_[u(op)] = holds;
    release(op, false);
    for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
        const CompiledGive& give = problem_.gives[u(g)];
        level_[u(give.store)] += give.amount;
        for (std::size_t i = 0; i < takers_.size(); ++i)
            poke(takers_[i]);
    }
    if (holds_left_[u(op)] == 0) ends(op, std::max(now_, now_placed_.end[u(op)]));
    known(op, false);
}

void Executor::ends(std::int32_t op, Tick end) {
    now_placed_.end[u(op)] = end;
    if (state_[u(op)] == ended) return;
    state_[u(op)] = ended;
    active_.erase(std::find(active_.begin(), active_.end(), op));
    --left_;
    release(op, true);
}

void Executor::look(std::int32_t op) {
    if (state_[u(op)] != waits || missing_[u(op)] > 0) return;
    Tick again = never;
    bool all = true;
    for_members(op, [&](std::int32_t member) {
        if (!all) return;
        all = missing_[u(member)] == 0 && may_start(member, again);
        if (missing_[u(member)] > 0) again = never;
    });
    if (all) {
        for_members(op, [&](std::int32_t member) { start(member); });
    } else if (again > now_ && again < never) {
        if (looked_[u(op)] == again) return;
        looked_[u(op)] = again;
        queue_.push(again, Look, static_cast<std::uint32_t>(op), 1);
    }
    if (state_[u(op)] == waits && options_.substitute && !is_late_[u(op)] &&
        now_ >= plan_.start[u(op)]) {
        is_late_[u(op)] = 1;
        late_list_.push_back(op);
        queue_.push(now_ + 1, Look, static_cast<std::uint32_t>(op), 1);  // somebody else may do it
        queue_.push(std::max(now_, plan_.start[u(op)] + options_.patience) + 1, Look,
                    static_cast<std::uint32_t>(op), 1);  // it may pass
    }
}

}  // namespace sched::engine
