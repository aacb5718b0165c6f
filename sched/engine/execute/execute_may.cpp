// May an operation start now? The rules that the plan keeps while reality differs from it, and the
// named recourse: a substitute, passing, a way to leave for all.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/execute/execute_rows.hpp"

namespace sched::engine {

using namespace execute_rows;

// Whether [start, start + work) lies in one window of every chosen resource with a calendar.
bool Executor::windows_allow(std::int32_t op, Tick start, Tick work, Tick& again) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    if (o.fixed || work <= 0) return true;
    const CompiledMode& m = mode_of(problem_, plan_, op);
    const Tick open = o.pausable ? 1 : work;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledResource& c = problem_.resources[ix(place_of(o, n))];
        if (!c.has_calendar) continue;
        bool inside = false;
        Tick next = never;
        for (std::int32_t w = c.windows.begin; w < c.windows.end && !inside && next >= never; ++w) {
            const CompiledWindow& x = problem_.windows[ix(w)];
            if (x.from > start) next = x.from;
            inside = x.from <= start && start + open <= x.to;
        }
        if (!inside) {
            again = std::max(again, next);
            return false;
        }
    }
    return true;
}

// The rest of a late block would find its people there: every operation as soon as its lags allow
// after this one, but not before its planned time.
bool Executor::rest_fits(std::int32_t op, Tick& again) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const auto ops = problem_.ops_of(problem_.blocks[ix(o.block)]);
    const auto length = [&](std::int32_t i) { return plan_.work_end[ix(i)] - plan_.start[ix(i)]; };
    likely_[ix(op)] = now_;
    for (std::size_t k = ix(o.place) + 1; k < ops.size(); ++k) {
        const std::int32_t next = ops[k];
        if (state_[ix(next)] != waits) continue;
        const CompiledOperation& q = problem_.operations[ix(next)];
        Tick from = std::max(plan_.start[ix(next)], now_);
        for (std::int32_t i = q.lags_in.begin; i < q.lags_in.end; ++i) {
            const CompiledLag& l = problem_.lags[ix(problem_.lags_in[ix(i)])];
            if (l.cross || state_[ix(l.from)] == ended) continue;
            const bool begun = state_[ix(l.from)] != waits;
            const Tick base = begun ? now_placed_.start[ix(l.from)] : likely_[ix(l.from)];
            from =
                std::max(from, base + l.min + (l.edge == core::Edge::Start ? 0 : length(l.from)));
        }
        likely_[ix(next)] = from;
        const CompiledMode& m = mode_of(problem_, plan_, next);
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
            if (need.whole || m.work <= 0 || q.pausable) continue;
            bool inside = false;
            Tick opens = never;
            for (std::int32_t c = need.any_of.begin; c < need.any_of.end && !inside; ++c) {
                const CompiledResource& person = problem_.resources[ix(problem_.candidates[ix(c)])];
                if (!person.has_calendar) inside = true;
                for (std::int32_t w = person.windows.begin; w < person.windows.end && !inside;
                     ++w) {
                    const CompiledWindow& x = problem_.windows[ix(w)];
                    inside = x.from <= from && from + m.work <= x.to;
                    if (x.from > from) opens = std::min(opens, x.from);
                }
            }
            if (inside) continue;
            again =
                opens >= never ? never : std::max(again, now_ + std::max<Tick>(1, opens - from));
            return false;
        }
    }
    return true;
}

bool Executor::open_at(std::int32_t r, Tick from, Tick length) const {
    const CompiledResource& c = problem_.resources[ix(r)];
    if (!c.has_calendar) return true;
    for (std::int32_t w = c.windows.begin; w < c.windows.end; ++w) {
        const CompiledWindow& x = problem_.windows[ix(w)];
        if (x.from <= from && from + length <= x.to) return true;
    }
    return false;
}

// Somebody else of the choice who is free and has nothing due; -1: nobody.
std::int32_t Executor::substitute_for(std::int32_t op, std::int32_t n) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    if (o.same_resource.size() > 0 || next_member_[ix(op)] != op) return -1;
    const CompiledMode& m = mode_of(problem_, plan_, op);
    if (n == 0 && m.stages.size() > 0) return -1;
    const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
    for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
        const std::int32_t r = problem_.candidates[ix(c)];
        const CompiledResource& x = problem_.resources[ix(r)];
        if (level_resource_[ix(r)] + need.amount > x.capacity) continue;
        bool taken = false;
        for (std::int32_t k = 0; k < m.needs.size(); ++k)
            taken |= k != n && place_of(o, k) == r;
        std::int32_t f = front_[ix(r)];
        while (f < turn_range_[ix(r)].end && state_[ix(turns_[ix(f)])] != waits)
            ++f;
        if (f < turn_range_[ix(r)].end && turns_[ix(f)] != op &&
            plan_.start[ix(turns_[ix(f)])] < now_ + m.work)
            taken = true;
        if (taken) continue;
        if (open_at(r, now_, m.work)) return r;
    }
    return -1;
}

// A late operation passes those before it (they are late too, and could not start at this instant),
// unless one of them is due before it would be done.
bool Executor::may_pass(std::int32_t op, std::int32_t r) const {
    const Tick done = now_ + mode_of(problem_, plan_, op).work;
    for (std::int32_t k = front_[ix(r)]; k < turn_range_[ix(r)].end && turns_[ix(k)] != op; ++k) {
        const std::int32_t other = turns_[ix(k)];
        if (state_[ix(other)] != waits) continue;
        if (looked_[ix(other)] > now_ && looked_[ix(other)] < done && missing_[ix(other)] == 0)
            return false;
    }
    return true;
}

// The start of `member` would set the end of i, which waits for nothing else.
bool Executor::ends_hold(std::int32_t member, std::int32_t i) const {
    if (state_[ix(i)] != holds || holds_left_[ix(i)] != 1) return false;
    const CompiledOperation& o = problem_.operations[ix(member)];
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = problem_.lags[ix(problem_.lags_in[ix(k)])];
        if (l.from == i && sets_end(problem_, l)) return true;
    }
    return false;
}

// Started now, with the choices of now_placed_: can all who hold a place still come out?
bool Executor::safe_with(std::int32_t op) {
    deadlock_avoidance_.free.resize(problem_.resources.size());
    for (std::size_t r = 0; r < problem_.resources.size(); ++r) {
        deadlock_avoidance_.free[r] = problem_.resources[r].capacity - level_resource_[r];
    }
    deadlock_avoidance_.holders.clear();
    const auto each_place = [&](std::int32_t i, auto&& visit) {
        const CompiledOperation& o = problem_.operations[ix(i)];
        const CompiledMode& m = mode_of(problem_, plan_, i);
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
            if (need.whole && counted_[ix(o.chosen + n)]) visit(place_of(o, n), need.amount);
        }
    };
    const auto hold = [&](std::int32_t i) {
        const std::int32_t job = problem_.operations[ix(i)].job;
        if (job >= 0)
            each_place(i, [&](std::int32_t r, std::int32_t amount) {
                deadlock_avoidance_.holders.push_back({job, r, amount});
            });
    };
    for (const std::int32_t i : active_) {
        bool closes = false;
        for_members(op, [&](std::int32_t member) { closes |= ends_hold(member, i); });
        if (closes) {
            each_place(i, [&](std::int32_t r, std::int32_t amount) {
                deadlock_avoidance_.free[ix(r)] += amount;
            });
        } else {
            hold(i);
        }
    }
    for_members(op, [&](std::int32_t member) {
        each_place(member, [&](std::int32_t r, std::int32_t amount) {
            deadlock_avoidance_.free[ix(r)] -= amount;
        });
        hold(member);
    });
    std::sort(deadlock_avoidance_.holders.begin(), deadlock_avoidance_.holders.end(),
              [](const DeadlockAvoidance::Holder& x, const DeadlockAvoidance::Holder& y) {
                  return x.job < y.job || (x.job == y.job && x.resource < y.resource);
              });
    for_members(op, [&](std::int32_t member) { state_[ix(member)] = works; });
    const bool safe = deadlock_avoidance_.safe(problem_, state_, &plan_);
    for_members(op, [&](std::int32_t member) { state_[ix(member)] = waits; });
    return safe;
}

// False: `again` says when time alone may change that (never: something has to happen first).
bool Executor::may_start(std::int32_t op, Tick& again) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = mode_of(problem_, plan_, op);
    again = o.not_before;
    if (options_.recourse == Recourse::KeepTimes) again = std::max(again, plan_.start[ix(op)]);
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = problem_.lags[ix(problem_.lags_in[ix(k)])];
        Tick edge = now_placed_.start[ix(l.from)];
        if (l.edge != core::Edge::Start) edge = now_placed_.work_end[ix(l.from)];
        again = std::max(again, edge + l.min);
    }
    if (again > now_) return false;
    if (o.begun) return true;  // a fact
    again = never;
    // All first: a substitute for one need must not be who another need of it has.
    for (std::int32_t n = 0; n < m.needs.size(); ++n)
        now_placed_.chosen[ix(o.chosen + n)] = plan_.chosen[ix(o.chosen + n)];
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
        const std::int32_t r = plan_.chosen[ix(o.chosen + n)];
        // Its turn: those before it in the plan have started.
        std::int32_t& f = front_[ix(r)];
        while (f < turn_range_[ix(r)].end && state_[ix(turns_[ix(f)])] != waits)
            ++f;
        if (!counted_[ix(o.chosen + n)]) continue;  // another member of the batch answers for it
        bool first = false;
        if (f < turn_range_[ix(r)].end)
            for_members(op, [&](std::int32_t member) { first |= turns_[ix(f)] == member; });
        const bool turn =
            f < turn_range_[ix(r)].end &&
            (first ||
             (substituting_ && now_ > plan_.start[ix(op)] + options_.patience && may_pass(op, r)));
        std::int32_t use = level_resource_[ix(r)];
        // A hand-over within one place.
        for_members(op, [&](std::int32_t member) {
            const CompiledOperation& w = problem_.operations[ix(member)];
            for (std::int32_t k = w.lags_in.begin; k < w.lags_in.end; ++k) {
                const CompiledLag& l = problem_.lags[ix(problem_.lags_in[ix(k)])];
                if (!sets_end(problem_, l) || !ends_hold(member, l.from)) continue;
                const CompiledOperation& from = problem_.operations[ix(l.from)];
                const CompiledMode& held_in = mode_of(problem_, plan_, l.from);
                for (std::int32_t q = 0; q < held_in.needs.size(); ++q) {
                    const CompiledNeed& held = problem_.needs[ix(held_in.needs.begin + q)];
                    if (held.whole && counted_[ix(from.chosen + q)] && place_of(from, q) == r)
                        use -= held.amount;
                }
            }
        });
        // Off shift counts as busy for somebody who is late.
        const bool there = !substituting_ || need.any_of.size() == 1 || open_at(r, now_, m.work);
        if (turn && there && use + need.amount <= problem_.resources[ix(r)].capacity) continue;
        if (!substituting_ || now_ <= plan_.start[ix(op)]) return false;
        const std::int32_t other = substitute_for(op, n);
        if (other < 0 && !there && turn &&
            use + need.amount <= problem_.resources[ix(r)].capacity) {
            continue;  // waits for its own next window
        }
        if (other < 0) return false;
        now_placed_.chosen[ix(o.chosen + n)] = other;
    }
    for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
        const CompiledTake& take = problem_.takes[ix(t)];
        const std::int32_t store = plan_.stores[ix(take.index)];
        if (level_[ix(store)] < take.amount) return false;
        if (now_ < problem_.stores[ix(store)].from) {
            again = problem_.stores[ix(store)].from;
            return false;
        }
    }
    again = 0;
    const Tick length = m.stages.size() > 0 ? 1 : m.work;
    if (!windows_allow(op, now_, length, again)) return false;
    if (now_ > plan_.start[ix(op)] &&
        o.place + 1 < problem_.blocks[ix(o.block)].operations.size() && o.not_after >= never) {
        // Only what nothing drives yet may still wait: a maximum lag that already runs comes first.
        bool driven = false;
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.lags[ix(problem_.lags_in[ix(k)])];
            driven |= !l.cross && (l.max < never);
        }
        if (!driven && !rest_fits(op, again) && again < never) return false;
    }
    // Once somebody has passed, the plan's order alone no longer keeps places from waiting in a
    // circle.
    // What ends by itself gives its places back by itself: it shuts nobody in who was not before.
    const bool harmless = passed_ && holds_[ix(op)] == 0;
    if ((passed_ || substituting_) && !harmless && !safe_with(op)) {
        again = never;
        return false;
    }
    return true;
}

}  // namespace sched::engine
