#include "sched/engine/way_out.hpp"

namespace sched::engine {

// The job of holders [first, last) finds every place of the rest of its way, with what it holds
// itself.
bool WayOut::leaves(const CompiledProblem& p, const std::vector<char>& ahead,
                    const FlatSchedule* plan, std::size_t first, std::size_t last) const {
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

bool WayOut::safe(const CompiledProblem& p, const std::vector<char>& ahead,
                  const FlatSchedule* plan) {
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
            if (!leaves(p, ahead, plan, first, last)) {
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

}  // namespace sched::engine
