#include "sched/search/room/justify.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::search {

using engine::CompiledLag;
using engine::CompiledWindow;
using engine::Profile;
using engine::Tick;

BackwardPass::BackwardPass(const engine::CompiledProblem& problem) : p_(problem) {
    for (const auto& r : problem.resources) {
        if (!r.has_calendar) {
            profile_.emplace_back();
            continue;
        }
        std::vector<CompiledWindow> mirrored;
        for (const CompiledWindow& w : problem.windows_of(r))
            mirrored.push_back({-w.to, -w.from});
        std::reverse(mirrored.begin(), mirrored.end());
        profile_.emplace_back(std::span<const CompiledWindow>(mirrored));
    }
    start_.resize(problem.operations.size());
}

const std::vector<Tick>& BackwardPass::run(const engine::FlatSchedule& schedule,
                                           const std::vector<double>& key,
                                           const std::vector<Tick>& latest) {
    const std::size_t n = p_.operations.size();
    for (Profile& profile : profile_)
        profile.reset();
    waits_.assign(n, 0);
    heap_.clear();
    const auto less = [&](std::int32_t a, std::int32_t b) {
        return key[ix(a)] != key[ix(b)] ? key[ix(a)] < key[ix(b)] : a < b;
    };
    const auto push = [&](std::size_t i) {
        heap_.push_back(static_cast<std::int32_t>(i));
        std::push_heap(heap_.begin(), heap_.end(), less);
    };
    for (const CompiledLag& l : p_.lags) {
        if (l.min >= 0) ++waits_[ix(l.from)];
    }
    for (std::size_t i = 0; i < n; ++i) {
        start_[i] = schedule.start[i];
        if (waits_[i] == 0) push(i);
    }
    while (!heap_.empty()) {
        std::pop_heap(heap_.begin(), heap_.end(), less);
        const auto i = ix(heap_.back());
        heap_.pop_back();
        const engine::CompiledOperation& o = p_.operations[i];
        const Tick length = schedule.work_end[i] - schedule.start[i];
        Tick end = latest[i];
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = p_.out_rows[ix(k)];
            if (l.min < 0) continue;
            const Tick by = start_[ix(l.to)] - l.min;
            end = std::min(end, l.edge == core::Edge::Start ? by + length : by);
        }
        const auto& needs = p_.modes[ix(o.modes.begin + schedule.mode[i])].needs;
        const auto each_need = [&](auto body) {
            for (std::int32_t k = needs.begin; k < needs.end; ++k) {
                const std::int32_t r = schedule.chosen[ix(o.chosen + k - needs.begin)];
                body(profile_[ix(r)], p_.resources[ix(r)].capacity, p_.needs[ix(k)].amount);
            }
        };
        Tick at = -end;  // mirrored: its end is where it begins
        for (Tick before = at - 1; length > 0 && before != at;) {
            before = at;
            each_need([&](const Profile& profile, std::int32_t capacity, std::int32_t amount) {
                // Work that pauses over closed time is taken as if it did not.
                Tick next = profile.earliest(at, length, capacity - amount);
                if (next >= engine::never)
                    next = profile.earliest_taken(at, length, capacity - amount);
                if (next < engine::never) at = std::max(at, next);
            });
        }
        each_need([&](Profile& profile, std::int32_t, std::int32_t amount) {
            profile.add(at, at + length, amount);
        });
        start_[i] = -at - length;
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = p_.in_rows[ix(k)];
            if (l.min >= 0 && --waits_[ix(l.from)] == 0) push(ix(l.from));
        }
    }
    return start_;
}

}  // namespace sched::search
