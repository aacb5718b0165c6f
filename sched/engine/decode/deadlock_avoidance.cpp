#include "sched/engine/decode/deadlock_avoidance.hpp"

#include <bit>

#include "sched/core/index.hpp"

namespace sched::engine {

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
    return starts_.empty();
}

}  // namespace sched::engine
