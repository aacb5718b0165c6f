#include "sched/engine/execute.hpp"

#include <algorithm>

namespace sched::engine {

namespace {

std::size_t u(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

constexpr char waits = 0, works = 1, holds = 2, ended = 3;

const CompiledMode& mode_of(const CompiledProblem& p, const FlatSchedule& f, std::int32_t op) {
    return p.modes[u(p.operations[u(op)].modes.begin + f.mode[u(op)])];
}

// The lag sets the end of `from`: it stretches until `to` starts.
bool sets_end(const CompiledProblem& p, const CompiledLag& l) {
    return l.edge == core::Edge::End && l.max < never && p.operations[u(l.from)].stretch > 0;
}

}  // namespace

Durations Durations::planned(const CompiledProblem& p) {
    Durations d;
    for (const auto& m : p.modes)
        d.work.push_back(m.work);
    d.drying.assign(p.modes.size(), 1.0);
    return d;
}

void Durations::fill(const CompiledProblem& p, const DurationSource& source) {
    work.resize(p.modes.size());
    drying.resize(p.modes.size());
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const Range m = p.operations[i].modes;
        for (std::int32_t k = m.begin; k < m.end; ++k) {
            const ActualDuration a = source(core::OperationId{i}, k - m.begin);
            work[u(k)] = a.work;
            drying[u(k)] = a.drying;
        }
    }
}

Executor::Executor(const CompiledProblem& problem)
    : problem_(problem),
      clock_(problem.resources.size()),
      clock_next_(problem.resources.size(), never) {
    for (std::size_t r = 0; r < problem.resources.size(); ++r) {
        if (!problem.resources[r].has_clock) continue;
        clock_[r] = DryingClock(problem.steps_of(problem.resources[r]));
        clocks_.push_back(static_cast<std::int32_t>(r));
    }
    const std::size_t n = problem.operations.size();
    ready_missing_.assign(n, 0);
    holds_.assign(n, 0);
    for (const auto& l : problem.lags) {
        ++ready_missing_[u(l.to)];
        if (sets_end(problem, l)) ++holds_[u(l.from)];
    }
    stages_ = problem.stages;
    work_list_.reserve(2 * n);
    late_list_.reserve(2 * n);
    queue_.reserve(2 * n);
}

std::int32_t Executor::place_of(const CompiledOperation& o, std::int32_t need) const {
    return now_placed_.chosen[u(o.chosen + need)];
}

void Executor::plan(const FlatSchedule& plan) {
    plan_ = plan;
    std::vector<std::int32_t> position(problem_.operations.size());
    for (std::size_t k = 0; k < problem_.block_operations.size(); ++k)
        position[u(problem_.block_operations[k])] = static_cast<std::int32_t>(k);
    std::vector<std::vector<std::int32_t>> users(problem_.resources.size());
    for (std::size_t i = 0; i < problem_.operations.size(); ++i) {
        const CompiledMode& m = mode_of(problem_, plan_, static_cast<std::int32_t>(i));
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            users[u(plan_.chosen[u(problem_.operations[i].chosen + n)])].push_back(
                static_cast<std::int32_t>(i));
        }
    }
    // Members of one batch start together; a place that serves them all counts once.
    const std::size_t n_ops = problem_.operations.size();
    next_member_.resize(n_ops);
    counted_.assign(u(problem_.chosen_size), 1);
    std::vector<std::int32_t> last(n_ops + 1, -1), first(n_ops + 1, -1);
    for (std::size_t i = 0; i < n_ops; ++i) {
        const auto op = static_cast<std::int32_t>(i);
        next_member_[i] = op;
        const std::int32_t batch = plan_.batch[i];
        if (batch < 0) continue;
        if (u(batch) >= first.size()) {
            first.resize(u(batch) + 1, -1);
            last.resize(u(batch) + 1, -1);
        }
        if (first[u(batch)] < 0) {
            first[u(batch)] = last[u(batch)] = op;
            continue;
        }
        const CompiledMode& m = mode_of(problem_, plan_, op);
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const std::int32_t r = plan_.chosen[u(problem_.operations[i].chosen + n)];
            if (!problem_.resources[u(r)].has_batch && problem_.resources[u(r)].capacity > 1)
                continue;
            for (std::int32_t q = first[u(batch)]; q != op;) {
                const CompiledMode& qm = mode_of(problem_, plan_, q);
                for (std::int32_t k = 0; k < qm.needs.size(); ++k) {
                    if (plan_.chosen[u(problem_.operations[u(q)].chosen + k)] == r)
                        counted_[u(problem_.operations[i].chosen + n)] = 0;
                }
                if (q == last[u(batch)]) break;
                q = next_member_[u(q)];
            }
        }
        next_member_[u(last[u(batch)])] = op;
        next_member_[i] = first[u(batch)];
        last[u(batch)] = op;
    }
    turns_.clear();
    turn_range_.assign(users.size(), {});
    for (std::size_t r = 0; r < users.size(); ++r) {
        std::sort(users[r].begin(), users[r].end(), [&](std::int32_t a, std::int32_t b) {
            if (plan_.start[u(a)] != plan_.start[u(b)])
                return plan_.start[u(a)] < plan_.start[u(b)];
            // Nothing at the same instant waits for what follows it.
            return position[u(a)] < position[u(b)];
        });
        turn_range_[r].begin = static_cast<std::int32_t>(turns_.size());
        turns_.insert(turns_.end(), users[r].begin(), users[r].end());
        turn_range_[r].end = static_cast<std::int32_t>(turns_.size());
    }
}

void Executor::poke(std::int32_t op) {
    if (queued_[u(op)] || state_[u(op)] != waits || missing_[u(op)] > 0) return;
    queued_[u(op)] = 1;
    work_list_.push_back(op);
}

// The first in turn at r that has not started.
void Executor::poke_resource(std::int32_t r) {
    std::int32_t& f = front_[u(r)];
    while (f < turn_range_[u(r)].end && state_[u(turns_[u(f)])] != waits)
        ++f;
    if (f < turn_range_[u(r)].end) poke(turns_[u(f)]);
}

void Executor::known(std::int32_t op, bool start_edge) {
    const CompiledOperation& o = problem_.operations[u(op)];
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = problem_.lags[u(problem_.lags_out[u(k)])];
        if ((l.edge == core::Edge::Start) != start_edge) continue;
        --missing_[u(l.to)];
        poke(l.to);
    }
}

// Whether [start, start + work) lies in one window of every chosen resource with a calendar.
bool Executor::windows_allow(std::int32_t op, Tick start, Tick work, Tick& again) const {
    const CompiledOperation& o = problem_.operations[u(op)];
    if (o.fixed || work <= 0) return true;
    const CompiledMode& m = mode_of(problem_, plan_, op);
    const Tick open = o.pausable ? 1 : work;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledResource& c = problem_.resources[u(place_of(o, n))];
        if (!c.has_calendar) continue;
        bool inside = false;
        Tick next = never;
        for (std::int32_t w = c.windows.begin; w < c.windows.end && !inside && next >= never; ++w) {
            const CompiledWindow& x = problem_.windows[u(w)];
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
    const CompiledOperation& o = problem_.operations[u(op)];
    const auto ops = problem_.ops_of(problem_.blocks[u(o.block)]);
    const auto length = [&](std::int32_t i) { return plan_.work_end[u(i)] - plan_.start[u(i)]; };
    likely_[u(op)] = now_;
    for (std::size_t k = u(o.place) + 1; k < ops.size(); ++k) {
        const std::int32_t next = ops[k];
        if (state_[u(next)] != waits) continue;
        const CompiledOperation& q = problem_.operations[u(next)];
        Tick from = std::max(plan_.start[u(next)], now_);
        for (std::int32_t i = q.lags_in.begin; i < q.lags_in.end; ++i) {
            const CompiledLag& l = problem_.lags[u(problem_.lags_in[u(i)])];
            if (l.cross || state_[u(l.from)] == ended) continue;
            const bool begun = state_[u(l.from)] != waits;
            const Tick base = begun ? now_placed_.start[u(l.from)] : likely_[u(l.from)];
            from =
                std::max(from, base + l.min + (l.edge == core::Edge::Start ? 0 : length(l.from)));
        }
        likely_[u(next)] = from;
        const CompiledMode& m = mode_of(problem_, plan_, next);
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledNeed& need = problem_.needs[u(m.needs.begin + n)];
            if (need.whole || m.work <= 0 || q.pausable) continue;
            bool inside = false;
            Tick opens = never;
            for (std::int32_t c = need.any_of.begin; c < need.any_of.end && !inside; ++c) {
                const CompiledResource& person = problem_.resources[u(problem_.candidates[u(c)])];
                if (!person.has_calendar) inside = true;
                for (std::int32_t w = person.windows.begin; w < person.windows.end && !inside;
                     ++w) {
                    const CompiledWindow& x = problem_.windows[u(w)];
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
    const CompiledResource& c = problem_.resources[u(r)];
    if (!c.has_calendar) return true;
    for (std::int32_t w = c.windows.begin; w < c.windows.end; ++w) {
        const CompiledWindow& x = problem_.windows[u(w)];
        if (x.from <= from && from + length <= x.to) return true;
    }
    return false;
}

// Somebody else of the choice who is free and has nothing due; -1: nobody.
std::int32_t Executor::substitute_for(std::int32_t op, std::int32_t n) const {
    const CompiledOperation& o = problem_.operations[u(op)];
    if (o.same_resource.size() > 0 || next_member_[u(op)] != op) return -1;
    const CompiledMode& m = mode_of(problem_, plan_, op);
    if (n == 0 && m.stages.size() > 0) return -1;
    const CompiledNeed& need = problem_.needs[u(m.needs.begin + n)];
    for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
        const std::int32_t r = problem_.candidates[u(c)];
        const CompiledResource& x = problem_.resources[u(r)];
        if (level_resource_[u(r)] + need.amount > x.capacity) continue;
        bool taken = false;
        for (std::int32_t k = 0; k < m.needs.size(); ++k)
            taken |= k != n && place_of(o, k) == r;
        std::int32_t f = front_[u(r)];
        while (f < turn_range_[u(r)].end && state_[u(turns_[u(f)])] != waits)
            ++f;
        if (f < turn_range_[u(r)].end && turns_[u(f)] != op &&
            plan_.start[u(turns_[u(f)])] < now_ + m.work)
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
    for (std::int32_t k = front_[u(r)]; k < turn_range_[u(r)].end && turns_[u(k)] != op; ++k) {
        const std::int32_t other = turns_[u(k)];
        if (state_[u(other)] != waits) continue;
        if (looked_[u(other)] > now_ && looked_[u(other)] < done && missing_[u(other)] == 0)
            return false;
    }
    return true;
}

// The start of `member` would set the end of i, which waits for nothing else.
bool Executor::ends_hold(std::int32_t member, std::int32_t i) const {
    if (state_[u(i)] != holds || holds_left_[u(i)] != 1) return false;
    const CompiledOperation& o = problem_.operations[u(member)];
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = problem_.lags[u(problem_.lags_in[u(k)])];
        if (l.from == i && sets_end(problem_, l)) return true;
    }
    return false;
}

// Started now, with the choices of now_placed_: can all who hold a place still come out?
bool Executor::safe_with(std::int32_t op) {
    way_out_.free.resize(problem_.resources.size());
    for (std::size_t r = 0; r < problem_.resources.size(); ++r) {
        way_out_.free[r] = problem_.resources[r].capacity - level_resource_[r];
    }
    way_out_.holders.clear();
    const auto each_place = [&](std::int32_t i, auto&& visit) {
        const CompiledOperation& o = problem_.operations[u(i)];
        const CompiledMode& m = mode_of(problem_, plan_, i);
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledNeed& need = problem_.needs[u(m.needs.begin + n)];
            if (need.whole && counted_[u(o.chosen + n)]) visit(place_of(o, n), need.amount);
        }
    };
    const auto hold = [&](std::int32_t i) {
        const std::int32_t job = problem_.operations[u(i)].job;
        if (job >= 0)
            each_place(i, [&](std::int32_t r, std::int32_t amount) {
                way_out_.holders.push_back({job, r, amount});
            });
    };
    for (const std::int32_t i : active_) {
        bool closes = false;
        for_members(op, [&](std::int32_t member) { closes |= ends_hold(member, i); });
        if (closes) {
            each_place(i,
                       [&](std::int32_t r, std::int32_t amount) { way_out_.free[u(r)] += amount; });
        } else {
            hold(i);
        }
    }
    for_members(op, [&](std::int32_t member) {
        each_place(member,
                   [&](std::int32_t r, std::int32_t amount) { way_out_.free[u(r)] -= amount; });
        hold(member);
    });
    std::sort(way_out_.holders.begin(), way_out_.holders.end(),
              [](const WayOut::Holder& x, const WayOut::Holder& y) {
                  return x.job < y.job || (x.job == y.job && x.resource < y.resource);
              });
    for_members(op, [&](std::int32_t member) { state_[u(member)] = works; });
    const bool safe = way_out_.safe(problem_, state_, &plan_);
    for_members(op, [&](std::int32_t member) { state_[u(member)] = waits; });
    return safe;
}

// False: `again` says when time alone may change that (never: something has to happen first).
bool Executor::may_start(std::int32_t op, Tick& again) {
    const CompiledOperation& o = problem_.operations[u(op)];
    const CompiledMode& m = mode_of(problem_, plan_, op);
    again = o.not_before;
    if (options_.recourse == Recourse::KeepTimes) again = std::max(again, plan_.start[u(op)]);
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = problem_.lags[u(problem_.lags_in[u(k)])];
        Tick edge = now_placed_.start[u(l.from)];
        if (l.edge != core::Edge::Start) edge = now_placed_.work_end[u(l.from)];
        again = std::max(again, edge + l.min);
    }
    if (again > now_) return false;
    again = never;
    // All first: a substitute for one need must not be who another need of it has.
    for (std::int32_t n = 0; n < m.needs.size(); ++n)
        now_placed_.chosen[u(o.chosen + n)] = plan_.chosen[u(o.chosen + n)];
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[u(m.needs.begin + n)];
        const std::int32_t r = plan_.chosen[u(o.chosen + n)];
        // Its turn: those before it in the plan have started.
        std::int32_t& f = front_[u(r)];
        while (f < turn_range_[u(r)].end && state_[u(turns_[u(f)])] != waits)
            ++f;
        if (!counted_[u(o.chosen + n)]) continue;  // another member of the batch answers for it
        bool first = false;
        if (f < turn_range_[u(r)].end)
            for_members(op, [&](std::int32_t member) { first |= turns_[u(f)] == member; });
        const bool turn =
            f < turn_range_[u(r)].end &&
            (first ||
             (substituting_ && now_ > plan_.start[u(op)] + options_.patience && may_pass(op, r)));
        std::int32_t use = level_resource_[u(r)];
        // A hand-over within one place.
        for_members(op, [&](std::int32_t member) {
            const CompiledOperation& w = problem_.operations[u(member)];
            for (std::int32_t k = w.lags_in.begin; k < w.lags_in.end; ++k) {
                const CompiledLag& l = problem_.lags[u(problem_.lags_in[u(k)])];
                if (!sets_end(problem_, l) || !ends_hold(member, l.from)) continue;
                const CompiledOperation& from = problem_.operations[u(l.from)];
                const CompiledMode& held_in = mode_of(problem_, plan_, l.from);
                for (std::int32_t q = 0; q < held_in.needs.size(); ++q) {
                    const CompiledNeed& held = problem_.needs[u(held_in.needs.begin + q)];
                    if (held.whole && counted_[u(from.chosen + q)] && place_of(from, q) == r)
                        use -= held.amount;
                }
            }
        });
        // Off shift counts as busy for somebody who is late.
        const bool there = !substituting_ || need.any_of.size() == 1 || open_at(r, now_, m.work);
        if (turn && there && use + need.amount <= problem_.resources[u(r)].capacity) continue;
        if (!substituting_ || now_ <= plan_.start[u(op)]) return false;
        const std::int32_t other = substitute_for(op, n);
        if (other < 0 && !there && turn && use + need.amount <= problem_.resources[u(r)].capacity) {
            continue;  // waits for its own next window
        }
        if (other < 0) return false;
        now_placed_.chosen[u(o.chosen + n)] = other;
    }
    for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
        const CompiledTake& take = problem_.takes[u(t)];
        const std::int32_t store = plan_.stores[u(take.index)];
        if (level_[u(store)] < take.amount) return false;
        if (now_ < problem_.stores[u(store)].from) {
            again = problem_.stores[u(store)].from;
            return false;
        }
    }
    again = 0;
    const Tick length = m.stages.size() > 0 ? 1 : m.work;
    if (!windows_allow(op, now_, length, again)) return false;
    if (now_ > plan_.start[u(op)] && o.place + 1 < problem_.blocks[u(o.block)].operations.size() &&
        o.not_after >= never) {
        // Only what nothing drives yet may still wait: a maximum lag that already runs comes first.
        bool driven = false;
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.lags[u(problem_.lags_in[u(k)])];
            driven |= !l.cross && (l.max < never);
        }
        if (!driven && !rest_fits(op, again) && again < never) return false;
    }
    // Once somebody has passed, the plan's order alone no longer keeps places from waiting in a
    // circle.
    // What ends by itself gives its places back by itself: it shuts nobody in who was not before.
    const bool harmless = passed_ && holds_[u(op)] == 0;
    if ((passed_ || substituting_) && !harmless && !safe_with(op)) {
        again = never;
        return false;
    }
    return true;
}

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

// Everything that can start at this instant starts; then, if a place or person came free, those who
// are late look for somebody else or pass, in the plan's order.
void Executor::settle() {
    const auto drain = [&] {
        while (!work_list_.empty()) {
            const std::int32_t op = work_list_.back();
            work_list_.pop_back();
            queued_[u(op)] = 0;
            look(op);
        }
    };
    drain();
    if (!freed_) return;
    freed_ = false;
    std::size_t keep = 0;
    for (const std::int32_t op : late_list_) {
        if (state_[u(op)] == waits) late_list_[keep++] = op;
    }
    late_list_.resize(keep);
    std::sort(late_list_.begin(), late_list_.end(), [&](std::int32_t a, std::int32_t b) {
        return plan_.start[u(a)] < plan_.start[u(b)] ||
               (plan_.start[u(a)] == plan_.start[u(b)] && a < b);
    });
    for (std::size_t i = 0; i < late_list_.size(); ++i) {
        const std::int32_t op = late_list_[i];
        if (plan_.start[u(op)] >= now_) continue;
        if (state_[u(op)] != waits) continue;
        substituting_ = true;
        look(op);
        substituting_ = false;
        drain();
    }
}

const ExecuteResult& Executor::run(const Durations& durations, const ExecuteOptions& options) {
    durations_ = &durations;
    options_ = options;
    const std::size_t n = problem_.operations.size();
    now_placed_.reset(problem_);
    now_placed_.chosen = plan_.chosen;  // the other members of a batch are looked at before they start
    front_.resize(turn_range_.size());
    for (std::size_t r = 0; r < turn_range_.size(); ++r)
        front_[r] = turn_range_[r].begin;
    missing_ = ready_missing_;
    holds_left_ = holds_;
    level_resource_.assign(problem_.resources.size(), 0);
    level_.resize(problem_.stores.size());
    for (std::size_t s = 0; s < level_.size(); ++s)
        level_[s] = problem_.stores[s].initial;
    state_.assign(n, waits);
    queued_.assign(n, 0);
    looked_.assign(n, -never);
    is_late_.assign(n, 0);
    likely_.resize(n);
    active_.clear();
    passed_ = false;
    freed_ = false;
    work_list_.clear();
    late_list_.clear();
    queue_.clear();
    result_.misses.clear();
    result_.complete = false;
    result_.substitutions = result_.events = 0;
    result_.overrun = 0;
    left_ = static_cast<std::int32_t>(n);
    now_ = problem_.horizon_start;
    for (const auto& o : problem_.operations) {
        if (o.fixed) now_ = std::min(now_, o.not_before);
    }
    for (const std::int32_t r : clocks_) {
        clock_[u(r)].reset(now_);
        clock_next_[u(r)] = never;
    }
    takers_.clear();
    for (std::size_t i = 0; i < n; ++i) {
        if (problem_.operations[i].takes.size() > 0)
            takers_.push_back(static_cast<std::int32_t>(i));
    }
    for (std::size_t i = n; i-- > 0;)
        poke(static_cast<std::int32_t>(i));
    settle();
    while (left_ > 0) {
        Tick next = queue_.empty() ? never : queue_.top().time;
        std::int32_t clock = -1;
        for (const std::int32_t r : clocks_) {
            if (clock_next_[u(r)] <= next) {
                next = clock_next_[u(r)];
                clock = r;
            }
        }
        if (next >= never) break;
        now_ = next;
        if (clock >= 0 && clock_next_[u(clock)] == next) {
            clock_[u(clock)].advance(now_);
            collect(clock);
            continue;
        }
        // All that ends now ends before anything starts: places are free from the end on.
        while (!queue_.empty() && queue_.top().time == now_) {
            const Event e = queue_.pop();
            const auto op = static_cast<std::int32_t>(e.whom);
            if (static_cast<What>(e.what) == WorkEnds) {
                work_ends(op);
            } else {
                freed_ = true;
                poke(op);
            }
        }
        settle();
    }
    result_.complete = left_ == 0;
    return result_;
}

}  // namespace sched::engine
