// A small room: all that is near the best schedule is looked at, one change at a time, until none
// of it is better. Two kinds of change: an operation waits until something else begins or ends, or
// no longer waits; a block takes another place in the list. Annealing draws the same changes at
// random and misses the last of them.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/search/room/start.hpp"

namespace sched::search {

namespace {

constexpr std::size_t kPolishBlocks = 64;

}  // namespace

bool RoomStart::small() const {
    return problem_.coupled && !problem_.midday && !guide_.count &&
           problem_.blocks.size() <= kPolishBlocks;
}

// From the best point on. @returns true if the best is another.
bool RoomStart::polish() {
    if (polished_ == best_value_) return false;
    const RoomValue before = best_value_;
    RoomPoint now = best_point_;
    RoomValue value;
    if (!decode(now, value) || value != best_value_) return false;
    take_view();
    const std::size_t operations = problem_.operations.size();
    const std::size_t all = operations + problem_.blocks.size();
    std::size_t at = 0;
    for (std::size_t idle = 0; idle < all && !watch_.spent() && !done();) {
        const bool better =
            at < operations ? other_wait(at, now, value) : other_place(at - operations, now, value);
        idle = better ? 0 : idle + 1;
        if (!better) at = (at + 1) % all;
    }
    polished_ = best_value_;
    return best_value_ != before;
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
    const bool until = !now.genes.earliest.empty() && now.genes.earliest[op] > -engine::never;
    const bool delayed = !now.genes.delay.empty() && now.genes.delay[op] > 0;
    RoomPoint next;
    if (until || delayed) {
        next = now;
        if (until) next.genes.earliest[op] = -engine::never;
        if (delayed) next.genes.delay[op] = 0;
        if (take_better(next, now, value)) return true;
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
