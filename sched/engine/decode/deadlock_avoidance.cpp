// How it works: first the banker's test. Who can walk the rest of his way with what is free and
// what he holds leaves, and gives it back; again, until all are out or nobody can. Those who are
// left then may go a step each: depth first over who takes his next block, where there is no choice
// of place, with the banker's test after each step. A state is how far each job is; most_states are
// looked at, so "no" may be wrong and "yes" is not. Whoever follows the way that was found needs no
// more states for the rest of it, so that a state once called safe stays so.

#include "sched/engine/decode/deadlock_avoidance.hpp"

#include <algorithm>
#include <bit>

#include "sched/core/index.hpp"

namespace sched::engine {

namespace {

constexpr std::size_t most_states = 64;  // looked at when somebody has to wait in between

}  // namespace

std::uint64_t exits_ahead(const CompiledProblem& p, std::int32_t job,
                          const std::vector<char>& booked) {
    const Range steps = p.exit_range[ix(job)];
    std::uint64_t wanted = 0;
    for (std::int32_t k = steps.begin; k < steps.end; ++k) {
        const ExitStep& step = p.exit_steps[ix(k)];
        if (!booked[ix(step.operation)]) wanted |= step.exits;
    }
    return wanted;
}

// The job of holders [first, last) finds every place of the rest of its way, with what it holds
// itself.
bool DeadlockAvoidance::leaves(const CompiledProblem& p, const std::vector<char>& booked,
                               std::size_t first, std::size_t last) const {
    const Range ops = p.job_range[ix(holders[first].job)];
    for (std::int32_t k = ops.end; k-- > ops.begin;) {
        const std::int32_t op = p.job_operations[ix(k)];
        if (booked[ix(op)]) continue;
        const CompiledOperation& o = p.operations[ix(op)];
        bool any = false;
        for (std::int32_t m = o.modes.begin; m < o.modes.end && !any; ++m) {
            const Range ns = p.modes[ix(m)].needs;
            bool all = true;
            for (std::int32_t n = ns.begin; n < ns.end && all; ++n) {
                const CompiledNeed& need = p.needs[ix(n)];
                if (!need.whole) continue;
                bool found = false;
                for (std::int32_t c = need.any_of.begin; c < need.any_of.end && !found; ++c) {
                    const std::int32_t r = p.candidates[ix(c)];
                    std::int32_t there = free[ix(r)];
                    for (std::size_t h = first; h < last; ++h) {
                        if (holders[h].resource == r) there += holders[h].amount;
                    }
                    found = there >= need.amount;
                }
                all = found;
            }
            any = all;
        }
        if (!any) return false;
    }
    return true;
}

bool DeadlockAvoidance::found(const CompiledProblem& p, const Exit& exit, std::size_t first,
                              std::size_t last) const {
    for (const auto& way : exit.ways) {
        bool all = true;
        for (const CompiledNeed& need : way) {
            bool any = false;
            for (std::int32_t c = need.any_of.begin; c < need.any_of.end && !any; ++c) {
                const std::int32_t r = p.candidates[ix(c)];
                std::int32_t there = free[ix(r)];
                for (std::size_t h = first; h < last; ++h) {
                    if (holders[h].resource == r) there += holders[h].amount;
                }
                any = there >= need.amount;
            }
            all = any;
            if (!all) break;
        }
        if (all) return true;
    }
    return false;
}

// As `leaves`; each kind of place is looked at once for all.
bool DeadlockAvoidance::leaves_by_kind(const CompiledProblem& p, const std::vector<char>& booked,
                                       const std::vector<std::uint64_t>& wanted, std::size_t first,
                                       std::size_t last) {
    const std::size_t job = ix(holders[first].job);
    if (p.exit_range[job].size() == 0) return leaves(p, booked, first, last);
    for (std::uint64_t bits = wanted[job] & ~open_; bits != 0; bits &= bits - 1) {
        const std::size_t e = ix(std::countr_zero(bits));
        if (found(p, p.exits[e], 0, 0)) {
            open_ |= std::uint64_t{1} << e;
        } else if (!found(p, p.exits[e], first, last)) {
            return false;
        }
    }
    return true;
}

bool DeadlockAvoidance::safe_booked(const CompiledProblem& p, const std::vector<char>& booked,
                                    const std::vector<std::uint64_t>& wanted) {
    open_ = 0;
    starts_.clear();
    for (std::size_t i = 0; i < holders.size(); ++i) {
        if (i == 0 || holders[i].job != holders[i - 1].job) starts_.push_back(i);
    }
    bool progress = true;
    while (!starts_.empty() && progress) {
        progress = false;
        std::size_t keep = 0;
        for (const std::size_t first : starts_) {
            std::size_t last = first;
            while (last < holders.size() && holders[last].job == holders[first].job)
                ++last;
            if (!leaves_by_kind(p, booked, wanted, first, last)) {
                starts_[keep++] = first;
                continue;
            }
            for (std::size_t h = first; h < last; ++h)
                free[ix(holders[h].resource)] += holders[h].amount;
            progress = true;
        }
        starts_.resize(keep);
    }
    if (starts_.empty()) return true;
    if (p.midday) return false;
    // Who is left cannot go all the way while the others stand still; a step each may do.
    Floor floor{free, {}, booked};
    for (const std::size_t first : starts_) {
        for (std::size_t h = first; h < holders.size() && holders[h].job == holders[first].job; ++h)
            floor.holders.push_back(holders[h]);
    }
    seen_.clear();
    return step_by_step(p, floor);
}

// Depth first over who takes the next step; the states that it has seen are few.
bool DeadlockAvoidance::step_by_step(const CompiledProblem& p, const Floor& at) {
    std::vector<std::int32_t> how_far;
    for (std::size_t i = 0; i < at.holders.size(); ++i) {
        if (i > 0 && at.holders[i].job == at.holders[i - 1].job) continue;
        const Range ops = p.job_range[ix(at.holders[i].job)];
        std::int32_t left = 0;
        for (std::int32_t k = ops.begin; k < ops.end; ++k)
            left += at.booked[ix(p.job_operations[ix(k)])] == 0;
        how_far.insert(how_far.end(), {at.holders[i].job, left});
    }
    if (seen_.size() >= most_states ||
        std::find(seen_.begin(), seen_.end(), how_far) != seen_.end())
        return false;
    seen_.push_back(std::move(how_far));
    for (std::size_t first = 0, last = 0; first < at.holders.size(); first = last) {
        while (last < at.holders.size() && at.holders[last].job == at.holders[first].job)
            ++last;
        Floor next = at;
        if (!take_next_step(p, first, last, next)) continue;
        let_out(p, next);
        if (next.holders.empty() || step_by_step(p, next)) return true;
    }
    return false;
}

// The job of holders [first, last) has its next block booked, if there is no choice of where.
bool DeadlockAvoidance::take_next_step(const CompiledProblem& p, std::size_t first,
                                       std::size_t last, Floor& floor) const {
    const std::int32_t job = floor.holders[first].job;
    const Range ops = p.job_range[ix(job)];
    std::int32_t k = ops.begin;
    while (k < ops.end && floor.booked[ix(p.job_operations[ix(k)])] != 0)
        ++k;
    if (k == ops.end) return false;
    const std::int32_t block = p.operations[ix(p.job_operations[ix(k)])].block;
    std::vector<Holder> then;
    for (const std::int32_t op : p.ops_of(p.blocks[ix(block)])) {
        const CompiledOperation& o = p.operations[ix(op)];
        if (o.modes.size() != 1) return false;
        const Range needs = p.modes[ix(o.modes.begin)].needs;
        for (std::int32_t n = needs.begin; n < needs.end; ++n) {
            const CompiledNeed& need = p.needs[ix(n)];
            if (!need.whole) continue;
            if (need.any_of.size() != 1) return false;
            const std::int32_t r = p.candidates[ix(need.any_of.begin)];
            std::int32_t there = floor.free[ix(r)];
            for (std::size_t h = first; h < last; ++h) {
                if (floor.holders[h].resource == r) there += floor.holders[h].amount;
            }
            if (there < need.amount) return false;
            if (o.open) then.push_back({job, r, need.amount, op});
        }
        floor.booked[ix(op)] = 1;
    }
    for (std::size_t h = first; h < last; ++h) {
        const Range out = p.operations[ix(floor.holders[h].operation)].lags_out;
        bool stays = false;
        for (std::int32_t l = out.begin; l < out.end; ++l) {
            const CompiledLag& lag = p.out_rows[ix(l)];
            stays |= lag.cross && lag.hold && floor.booked[ix(lag.to)] == 0;
        }
        if (stays)
            then.push_back(floor.holders[h]);
        else
            floor.free[ix(floor.holders[h].resource)] += floor.holders[h].amount;
    }
    for (const Holder& x : then) {
        const bool held = std::any_of(
            floor.holders.begin() + static_cast<std::ptrdiff_t>(first),
            floor.holders.begin() + static_cast<std::ptrdiff_t>(last), [&](const Holder& y) {
                return y.operation == x.operation && y.resource == x.resource;
            });
        if (!held) floor.free[ix(x.resource)] -= x.amount;
        if (floor.free[ix(x.resource)] < 0) return false;
    }
    const auto at = floor.holders.erase(floor.holders.begin() + static_cast<std::ptrdiff_t>(first),
                                        floor.holders.begin() + static_cast<std::ptrdiff_t>(last));
    floor.holders.insert(at, then.begin(), then.end());
    return true;
}

// Whoever can go all the way now leaves.
void DeadlockAvoidance::let_out(const CompiledProblem& p, Floor& floor) {
    std::swap(free, floor.free);
    std::swap(holders, floor.holders);
    for (std::size_t first = 0; first < holders.size();) {
        std::size_t last = first;
        while (last < holders.size() && holders[last].job == holders[first].job)
            ++last;
        if (!leaves(p, floor.booked, first, last)) {
            first = last;
            continue;
        }
        for (std::size_t h = first; h < last; ++h)
            free[ix(holders[h].resource)] += holders[h].amount;
        holders.erase(holders.begin() + static_cast<std::ptrdiff_t>(first),
                      holders.begin() + static_cast<std::ptrdiff_t>(last));
        first = 0;  // what it gives back may be enough for those before
    }
    std::swap(free, floor.free);
    std::swap(holders, floor.holders);
}

}  // namespace sched::engine
