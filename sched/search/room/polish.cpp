// A small room: all that is near the best schedule is looked at, one change at a time, until none
// of it is better. Three kinds of change: an operation waits until something else begins or ends,
// or no longer waits; a block takes another place in the list; two units take each other's part.
// Annealing draws the same changes at random and misses the last of them. Where nothing is better,
// the best is changed so that more than one step differs (two units exchanged, one begun after
// another, a few moves) and polished again.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/search/room/blocker.hpp"
#include "sched/search/room/start.hpp"

namespace sched::search {

namespace {

constexpr int kMostKicks = 3;

// Not one that has to follow at once what cannot stretch.
bool can_wait(const engine::CompiledProblem& p, std::size_t op) {
    const engine::CompiledOperation& o = p.operations[op];
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const engine::CompiledLag& l = p.in_rows[ix(k)];
        const bool stretches = l.edge == core::Edge::End && p.operations[ix(l.from)].stretch > 0;
        if (!l.cross && l.max == l.min && !stretches) return false;
    }
    return true;
}

}  // namespace

bool RoomStart::small() const {
    return units_.small && !problem_.midday && !guide_.count;
}

// From the best point on. @returns true if the best is another.
bool RoomStart::polish() {
    if (polished_ == best_value_) return false;
    const RoomValue before = best_value_;
    RoomPoint now = best_point_;
    RoomValue value;
    if (!decode(now, value) || value != best_value_) return false;
    take_view();
    descend(now, value);
    polished_ = best_value_;
    return best_value_ != before;
}

// Single changes until none of them makes it better.
void RoomStart::descend(RoomPoint& now, RoomValue& value) {
    const std::size_t operations = problem_.operations.size();
    const std::size_t blocks = problem_.blocks.size();
    const std::size_t all = operations + blocks + units_.blocks.size();
    std::size_t at = 0;
    for (std::size_t idle = 0; idle < all && !watch_.spent() && !done();) {
        const bool better = at < operations ? other_wait(at, now, value)
                            : at < operations + blocks
                                ? other_place(at - operations, now, value)
                                : other_part(at - operations - blocks, now, value);
        idle = better ? 0 : idle + 1;
        if (!better) at = (at + 1) % all;
    }
}

// The best with two units in each other's part, or changed a little at random, and descended from
// again, over and over.
bool RoomStart::kick(std::int64_t until) {
    const RoomValue before = best_value_;
    if (base_value_.empty() || best_value_ < base_value_) {
        base_ = best_point_;
        base_value_ = best_value_;
        pairs_.clear();
    }
    RoomPoint now;
    RoomValue value;
    while (!watch_.spent() && !done() && watch_.evaluations() < until) {
        now = base_;
        if (!decode(now, value)) break;
        take_view();
        const bool pair = draw_pair(now);
        if (pair && !decode(now, value)) continue;
        if (pair) take_view();
        const int kicks = pair ? rng_.below(kMostKicks) : 1 + rng_.below(kMostKicks);
        for (int k = 0; k < kicks; ++k) {
            RoomPoint next = now;
            if (!change(next) || !decode(next, value)) continue;
            now = next;
            take_view();
        }
        if (!decode(now, value)) continue;
        take_view();
        descend(now, value);
        if (value < base_value_) pairs_.clear();
        if (!(base_value_ < value)) {
            base_ = now;
            base_value_ = value;
        }
    }
    return best_value_ != before;
}

// Every pair of units once, in an order of chance, then over again.
bool RoomStart::draw_pair(RoomPoint& point) {
    if (rng_.below(4) == 0) return false;
    const auto n = static_cast<int>(units_.blocks.size());
    for (int tries = 0; tries < 2 * n * n; ++tries) {
        if (pairs_.empty()) {
            for (std::int32_t a = 0; a < n; ++a) {
                for (std::int32_t b = 0; b < n; ++b) {
                    if (a != b) pairs_.emplace_back(a, b);
                    if (a < b) pairs_.emplace_back(a, ~b);
                }
            }
            if (pairs_.empty()) return false;
        }
        const std::size_t k = ix(rng_.below(static_cast<int>(pairs_.size())));
        const auto [a, b] = pairs_[k];
        pairs_[k] = pairs_.back();
        pairs_.pop_back();
        if (b < 0 ? swap_parts(point, view(), a, ~b) : unit_after_unit(point, view(), a, b, rng_))
            return true;
    }
    return false;
}

// `next` takes the place of `now` if it is better. A run that cannot be is given up; nothing is
// guessed.
bool RoomStart::take_better(RoomPoint& next, RoomPoint& now, RoomValue& value) {
    const engine::Cutoff cutoff{value, {}, 0.0, {}};
    RoomValue found;
    if (!decode(next, found, &cutoff) || !(found < value)) return false;
    now = next;
    value = found;
    take_view();
    return true;
}

bool RoomStart::other_wait(std::size_t op, RoomPoint& now, RoomValue& value) {
    if (!can_wait(problem_, op)) return false;
    const bool until = !now.genes.earliest.empty() && now.genes.earliest[op] > -engine::never;
    const bool delayed = !now.genes.delay.empty() && now.genes.delay[op] > 0;
    const bool awaits = !now.genes.after.empty() && now.genes.after[op] >= 0;
    RoomPoint next;
    if (until || delayed || awaits) {
        next = now;
        if (awaits) next.genes.after[op] = -1;
        if (until) next.genes.earliest[op] = -engine::never;
        if (delayed) next.genes.delay[op] = 0;
        if (take_better(next, now, value)) return true;
    }
    if (search::awaits(view(), static_cast<std::int32_t>(op))) {
        std::vector<std::pair<engine::Tick, std::int32_t>> events;
        for (std::size_t c = 0; c < problem_.operations.size(); ++c) {
            if (units_.unit_of[ix(problem_.operations[c].block)] ==
                units_.unit_of[ix(problem_.operations[op].block)])
                continue;
            for (const std::int32_t a : {engine::after_end(static_cast<std::int32_t>(c)),
                                         engine::after_start(static_cast<std::int32_t>(c))}) {
                const engine::Tick t = event_of(view(), a);
                if (t > schedule_.start[op]) events.emplace_back(t, a);
            }
        }
        std::sort(events.begin(), events.end());
        engine::Tick last = -engine::never;
        for (const auto& [t, a] : events) {
            if (watch_.spent()) return false;
            if (t == last) continue;
            last = t;
            next = now;
            next.genes.after.resize(problem_.operations.size(), -1);
            next.genes.after[op] = a;
            if (take_better(next, now, value)) return true;
            // The same instant, whatever becomes of the other.
            next = now;
            if (awaits) next.genes.after[op] = -1;
            next.genes.earliest.resize(problem_.operations.size(), -engine::never);
            next.genes.earliest[op] = t;
            if (take_better(next, now, value)) return true;
        }
        return false;
    }
    std::vector<engine::Tick> events;
    for (const auto* times : {&schedule_.start, &schedule_.work_end, &schedule_.end}) {
        for (const engine::Tick t : *times) {
            if (t > schedule_.start[op]) events.push_back(t);
        }
    }
    std::sort(events.begin(), events.end());
    events.erase(std::unique(events.begin(), events.end()), events.end());
    for (const engine::Tick t : events) {
        if (watch_.spent()) return false;
        next = now;
        next.genes.earliest.resize(problem_.operations.size(), -engine::never);
        next.genes.earliest[op] = t;
        if (take_better(next, now, value)) return true;
    }
    return false;
}

bool RoomStart::other_part(std::size_t unit, RoomPoint& now, RoomValue& value) {
    RoomPoint next;
    for (std::size_t other = unit + 1; other < units_.blocks.size(); ++other) {
        if (watch_.spent()) return false;
        next = now;
        if (swap_parts(next, view(), static_cast<std::int32_t>(unit),
                       static_cast<std::int32_t>(other)) &&
            take_better(next, now, value))
            return true;
    }
    return false;
}

bool RoomStart::other_place(std::size_t block, RoomPoint& now, RoomValue& value) {
    const double was = now.key[block];
    RoomPoint next;
    for (std::size_t other = 0; other < now.key.size(); ++other) {
        if (other == block) continue;
        if (watch_.spent()) return false;
        next = now;
        next.key[block] = now.key[other] + (now.key[other] < was ? -0.5 : 0.5);
        if (take_better(next, now, value)) return true;
    }
    return false;
}

}  // namespace sched::search
