#include "sched/engine/decode/deadlock_avoidance.hpp"

#include <bit>

namespace sched::engine {

// The job of holders [first, last) finds every place of the rest of its way, with what it holds
// itself.
bool DeadlockAvoidance::leaves(const CompiledProblem& p, const std::vector<char>& ahead,
                               const FlatSchedule* plan, std::size_t first,
                               std::size_t last) const {
    const Range ops = p.job_range[static_cast<std::size_t>(holders[first].job)];
    for (std::int32_t k = ops.end; k-- > ops.begin;) {
        const std::int32_t op = p.job_operations[static_cast<std::size_t>(k)];
        if (ahead[static_cast<std::size_t>(op)]) continue;
        const CompiledOperation& o = p.operations[static_cast<std::size_t>(op)];
        bool any = false;
        for (std::int32_t m = o.modes.begin; m < o.modes.end && !any; ++m) {
            if (plan && m != o.modes.begin + plan->mode[static_cast<std::size_t>(op)]) continue;
            const Range ns = p.modes[static_cast<std::size_t>(m)].needs;
            bool all = true;
            for (std::int32_t n = ns.begin; n < ns.end && all; ++n) {
                const CompiledNeed& need = p.needs[static_cast<std::size_t>(n)];
                if (!need.whole) continue;
                bool found = false;
                for (std::int32_t c = need.any_of.begin; c < need.any_of.end && !found; ++c) {
                    const std::int32_t r = p.candidates[static_cast<std::size_t>(c)];
                    if (plan &&
                        r != plan->chosen[static_cast<std::size_t>(o.chosen + n - ns.begin)])
                        continue;
                    std::int32_t there = free[static_cast<std::size_t>(r)];
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
                const std::int32_t r = p.candidates[static_cast<std::size_t>(c)];
                std::int32_t there = free[static_cast<std::size_t>(r)];
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
                                       std::size_t first, std::size_t last) {
    const auto job = static_cast<std::size_t>(holders[first].job);
    const Range steps = p.exit_range[job];
    if (steps.size() == 0) return leaves(p, booked, nullptr, first, last);
    std::uint64_t wanted = 0;
    for (std::int32_t k = steps.begin; k < steps.end; ++k) {
        const ExitStep& step = p.exit_steps[static_cast<std::size_t>(k)];
        if (!booked[static_cast<std::size_t>(step.operation)]) wanted |= step.exits;
    }
    for (std::uint64_t bits = wanted & ~open_; bits != 0; bits &= bits - 1) {
        const auto e = static_cast<std::size_t>(std::countr_zero(bits));
        if (found(p, p.exits[e], 0, 0)) {
            open_ |= std::uint64_t{1} << e;
        } else if (!found(p, p.exits[e], first, last)) {
            return false;
        }
    }
    return true;
}

template <class Leaves>
bool DeadlockAvoidance::all_leave(Leaves leaves) {
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
            if (!leaves(first, last)) {
                starts_[keep++] = first;
                continue;
            }
            for (std::size_t h = first; h < last; ++h) {
                free[static_cast<std::size_t>(holders[h].resource)] += holders[h].amount;
            }
            progress = true;
        }
        starts_.resize(keep);
    }
    return starts_.empty();
}

bool DeadlockAvoidance::safe_booked(const CompiledProblem& p, const std::vector<char>& booked) {
    open_ = 0;
    return all_leave([&](std::size_t first, std::size_t last) {
        return leaves_by_kind(p, booked, first, last);
    });
}

bool DeadlockAvoidance::safe(const CompiledProblem& p, const std::vector<char>& ahead,
                             const FlatSchedule* plan) {
    return all_leave(
        [&](std::size_t first, std::size_t last) { return leaves(p, ahead, plan, first, last); });
}

}  // namespace sched::engine
