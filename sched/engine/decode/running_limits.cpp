// What loose limits that run ask for, and when the last moment for it is.

#include "sched/engine/decode/running_limits.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::engine {

std::int32_t RunningLimits::count() const {
    return static_cast<std::int32_t>(std::count_if(
        state_.running.begin(), state_.running.end(),
        [&](std::int32_t k) { return state_.is_placed[ix(problem_.out_rows[ix(k)].to)] == 0; }));
}

// How many units of the need are free for good, in all its places.
std::int32_t RunningLimits::left_for_good(const CompiledNeed& need) const {
    std::int32_t left = 0;
    for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
        const std::int32_t r = problem_.candidates[ix(c)];
        left += static_cast<std::int32_t>(problem_.resources[ix(r)].capacity -
                                          state_.profile[ix(r)].finally_used()) /
                need.amount;
    }
    return left;
}

// Units of resource r that others have been promised: what their limits run for goes there.
std::int32_t RunningLimits::promised(std::int32_t r, const Block& block) const {
    std::int32_t sum = 0;
    for (const std::int32_t k : state_.running) {
        const std::int32_t to = problem_.out_rows[ix(k)].to;
        const std::int32_t b = problem_.operations[ix(to)].block;
        if (state_.is_placed[ix(to)] != 0 || &problem_.blocks[ix(b)] == &block) continue;
        for_open_needs(
            b, [&](const CompiledOperation&, const CompiledMode&, const CompiledNeed& need) {
                for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c)
                    sum += problem_.candidates[ix(c)] == r ? need.amount : 0;
            });
    }
    return sum;
}

// Units of the need in which those stand for whom limits run, and `own`, which is booked: they
// leave them before they take others.
std::int32_t RunningLimits::given_back(const CompiledNeed& need, std::int32_t own) const {
    std::int32_t units = 0;
    const auto add = [&](std::int32_t op) {
        const CompiledOperation& o = problem_.operations[ix(op)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])];
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const CompiledNeed& taken = problem_.needs[ix(m.needs.begin + n)];
            const std::int32_t r = state_.placed.chosen[ix(o.chosen + n)];
            for (std::int32_t c = need.any_of.begin; taken.whole && c < need.any_of.end; ++c)
                units += problem_.candidates[ix(c)] == r ? taken.amount : 0;
        }
    };
    for (const std::int32_t k : state_.running) {
        const CompiledLag& l = problem_.out_rows[ix(k)];
        if (state_.is_placed[ix(l.to)] == 0 && state_.open_links[ix(l.from)] > 0) add(l.from);
    }
    if (problem_.operations[ix(own)].open) add(own);
    return units / need.amount;
}

// Who finds all places taken by those before waits until one of them is dry: block `b`, after `op`.
Tick RunningLimits::queue_for_place(std::int32_t b, std::int32_t op, Tick at) const {
    const std::int32_t running = count();
    Tick longest = 0;
    for_open_needs(
        b, [&](const CompiledOperation& o, const CompiledMode& m, const CompiledNeed& need) {
            if (running < left_for_good(need) + given_back(need, op)) return;
            for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c)
                longest =
                    std::max(longest, fits_.length_of(o, m, problem_.candidates[ix(c)], at, true));
        });
    return longest;
}

Tick RunningLimits::due_by(std::int32_t row) {
    const CompiledLag& l = problem_.out_rows[ix(row)];
    const Tick ends = state_.early[ix(l.from)] + l.max;
    if (known_.size() < problem_.out_rows.size()) known_.resize(problem_.out_rows.size());
    Known& known = known_[ix(row)];
    if (known.ends != ends) known = {ends, last_moment(l, ends)};
    return known.due;
}

Tick RunningLimits::last_moment(const CompiledLag& l, Tick limit) const {
    const CompiledMode& m = problem_.modes[ix(problem_.operations[ix(l.to)].modes.begin)];
    Tick due = limit;
    for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
        const CompiledNeed& need = problem_.needs[ix(n)];
        Tick latest = -never;
        for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
            const CompiledResource& r = problem_.resources[ix(problem_.candidates[ix(c)])];
            if (!r.has_calendar) latest = limit;
            const auto windows = problem_.windows_of(r);
            auto w = std::upper_bound(windows.begin(), windows.end(), limit,
                                      [](Tick t, const CompiledWindow& x) { return t < x.from; });
            while (w != windows.begin() && latest < limit) {
                --w;
                if (w->to - m.work < w->from) continue;
                latest = std::max(latest, std::min(limit, w->to - m.work));
                break;
            }
        }
        due = std::min(due, latest);
    }
    return due;
}

// From when on a limit that runs for the block has been missed; never: all have been.
Tick RunningLimits::missed_after(const Block& block) const {
    Tick first = never;
    for (const std::int32_t op : problem_.ops_of(block)) {
        const CompiledOperation& o = problem_.operations[ix(op)];
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.in_rows[ix(k)];
            if (!l.loose || state_.is_placed[ix(l.from)] == 0) continue;
            const Tick after = state_.early[ix(l.from)] + l.max + 1;
            if (after > state_.now) first = std::min(first, after);
        }
    }
    return first;
}

}  // namespace sched::engine
