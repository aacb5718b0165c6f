#include "sched/engine/execute/execute.hpp"

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/execute/execute_rows.hpp"

namespace sched::engine {

using namespace execute_rows;

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
            work[ix(k)] = a.work;
            drying[ix(k)] = a.drying;
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
        ++ready_missing_[ix(l.to)];
        if (sets_end(problem, l)) ++holds_[ix(l.from)];
    }
    stages_ = problem.stages;
    work_list_.reserve(2 * n);
    late_list_.reserve(2 * n);
    queue_.reserve(2 * n);
}

std::int32_t Executor::place_of(const CompiledOperation& o, std::int32_t need) const {
    return now_placed_.chosen[ix(o.chosen + need)];
}

void Executor::plan(const FlatSchedule& plan) {
    plan_ = plan;
    std::vector<std::int32_t> position(problem_.operations.size());
    for (std::size_t k = 0; k < problem_.block_operations.size(); ++k)
        position[ix(problem_.block_operations[k])] = static_cast<std::int32_t>(k);
    std::vector<std::vector<std::int32_t>> users(problem_.resources.size());
    for (std::size_t i = 0; i < problem_.operations.size(); ++i) {
        const CompiledMode& m = mode_of(problem_, plan_, static_cast<std::int32_t>(i));
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            users[ix(plan_.chosen[ix(problem_.operations[i].chosen + n)])].push_back(
                static_cast<std::int32_t>(i));
        }
    }
    // Members of one batch start together; a place that serves them all counts once.
    const std::size_t n_ops = problem_.operations.size();
    next_member_.resize(n_ops);
    counted_.assign(ix(problem_.chosen_size), 1);
    std::vector<std::int32_t> last(n_ops + 1, -1), first(n_ops + 1, -1);
    for (std::size_t i = 0; i < n_ops; ++i) {
        const auto op = static_cast<std::int32_t>(i);
        next_member_[i] = op;
        const std::int32_t batch = plan_.batch[i];
        if (batch < 0) continue;
        if (ix(batch) >= first.size()) {
            first.resize(ix(batch) + 1, -1);
            last.resize(ix(batch) + 1, -1);
        }
        if (first[ix(batch)] < 0) {
            first[ix(batch)] = last[ix(batch)] = op;
            continue;
        }
        const CompiledMode& m = mode_of(problem_, plan_, op);
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const std::int32_t r = plan_.chosen[ix(problem_.operations[i].chosen + n)];
            if (!problem_.resources[ix(r)].has_batch && problem_.resources[ix(r)].capacity > 1)
                continue;
            for (std::int32_t q = first[ix(batch)]; q != op;) {
                const CompiledMode& qm = mode_of(problem_, plan_, q);
                for (std::int32_t k = 0; k < qm.needs.size(); ++k) {
                    if (plan_.chosen[ix(problem_.operations[ix(q)].chosen + k)] == r)
                        counted_[ix(problem_.operations[i].chosen + n)] = 0;
                }
                if (q == last[ix(batch)]) break;
                q = next_member_[ix(q)];
            }
        }
        next_member_[ix(last[ix(batch)])] = op;
        next_member_[i] = first[ix(batch)];
        last[ix(batch)] = op;
    }
    turns_.clear();
    turn_range_.assign(users.size(), {});
    for (std::size_t r = 0; r < users.size(); ++r) {
        std::sort(users[r].begin(), users[r].end(), [&](std::int32_t a, std::int32_t b) {
            if (plan_.start[ix(a)] != plan_.start[ix(b)])
                return plan_.start[ix(a)] < plan_.start[ix(b)];
            // Nothing at the same instant waits for what follows it.
            return position[ix(a)] < position[ix(b)];
        });
        turn_range_[r].begin = static_cast<std::int32_t>(turns_.size());
        turns_.insert(turns_.end(), users[r].begin(), users[r].end());
        turn_range_[r].end = static_cast<std::int32_t>(turns_.size());
    }
}

void Executor::poke(std::int32_t op) {
    if (queued_[ix(op)] || state_[ix(op)] != waits || missing_[ix(op)] > 0) return;
    queued_[ix(op)] = 1;
    work_list_.push_back(op);
}

// The first in turn at r that has not started.
void Executor::poke_resource(std::int32_t r) {
    std::int32_t& f = front_[ix(r)];
    while (f < turn_range_[ix(r)].end && state_[ix(turns_[ix(f)])] != waits)
        ++f;
    if (f < turn_range_[ix(r)].end) poke(turns_[ix(f)]);
}

void Executor::known(std::int32_t op, bool start_edge) {
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = problem_.lags[ix(problem_.lags_out[ix(k)])];
        if ((l.edge == core::Edge::Start) != start_edge) continue;
        --missing_[ix(l.to)];
        poke(l.to);
    }
}

// Everything that can start at this instant starts; then, if a place or person came free, those who
// are late look for somebody else or pass, in the plan's order.
void Executor::settle() {
    const auto drain = [&] {
        while (!work_list_.empty()) {
            const std::int32_t op = work_list_.back();
            work_list_.pop_back();
            queued_[ix(op)] = 0;
            look(op);
        }
    };
    drain();
    if (!freed_) return;
    freed_ = false;
    std::size_t keep = 0;
    for (const std::int32_t op : late_list_) {
        if (state_[ix(op)] == waits) late_list_[keep++] = op;
    }
    late_list_.resize(keep);
    std::sort(late_list_.begin(), late_list_.end(), [&](std::int32_t a, std::int32_t b) {
        return plan_.start[ix(a)] < plan_.start[ix(b)] ||
               (plan_.start[ix(a)] == plan_.start[ix(b)] && a < b);
    });
    for (std::size_t i = 0; i < late_list_.size(); ++i) {
        const std::int32_t op = late_list_[i];
        if (plan_.start[ix(op)] >= now_) continue;
        if (state_[ix(op)] != waits) continue;
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
    now_placed_.chosen =
        plan_.chosen;  // the other members of a batch are looked at before they start
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
        clock_[ix(r)].reset(now_);
        clock_next_[ix(r)] = never;
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
            if (clock_next_[ix(r)] <= next) {
                next = clock_next_[ix(r)];
                clock = r;
            }
        }
        if (next >= never) break;
        now_ = next;
        if (clock >= 0 && clock_next_[ix(clock)] == next) {
            clock_[ix(clock)].advance(now_);
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
