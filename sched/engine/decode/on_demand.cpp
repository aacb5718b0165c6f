// A pot that does not keep is mixed when a coat asks for it, so early that it is ready when all
// else is; what nobody has asked for is done when nothing else is left.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

// A take finds no store at `at`, when all else that it needs is there. One that has been asked for
// and is not booked yet is waited for first: it may do.
void Decoder::ask_for(std::int32_t take, Tick at) {
    const Range any = problem_.takes[ix(take)].any_of;
    std::size_t first = problem_.on_demand.size();
    for (std::int32_t s = any.begin; s < any.end; ++s) {
        for (std::size_t k = 0; k < problem_.on_demand.size(); ++k) {
            const OnDemand& x = problem_.on_demand[k];
            if (x.store != problem_.take_stores[ix(s)]) continue;
            if (state_.asked[k] < never && !state_.is_placed[ix(x.giver)]) return;
            if (state_.asked[k] >= never && first == problem_.on_demand.size()) first = k;
        }
    }
    if (first == problem_.on_demand.size()) return;
    state_.asked[first] = at - problem_.on_demand[first].lead;
    if (state_.asked[first] <= state_.now) tell(first);
}

// What is left for all coats that share the take of `op`, just booked, is little, and more of it is
// wanted: the next pot is told now, so that it is ready when this one is empty. One that would not
// keep overnight waits to be asked for: it would be over before the first coat of the morning.
void Decoder::ask_ahead(std::int32_t op) {
    constexpr Tick overnight = 24 * 3600;
    const CompiledOperation& o = problem_.operations[ix(op)];
    for (std::int32_t k = o.takes.begin; k < o.takes.end; ++k) {
        const Range any = problem_.takes[ix(k)].any_of;
        const auto shares = [&](const Range& other) {
            return other.size() == any.size() &&
                   std::equal(problem_.take_stores.begin() + any.begin,
                              problem_.take_stores.begin() + any.end,
                              problem_.take_stores.begin() + other.begin);
        };
        std::size_t next = problem_.on_demand.size();
        std::int64_t left = 0;
        bool awaited = false;
        for (std::int32_t s = any.begin; s < any.end; ++s) {
            const std::int32_t store = problem_.take_stores[ix(s)];
            if (std::min(state_.ledger[ix(store)].over(), problem_.stores[ix(store)].until) >
                state_.now)
                left += state_.ledger[ix(store)].left();
            for (std::size_t d = 0; d < problem_.on_demand.size(); ++d) {
                const OnDemand& x = problem_.on_demand[d];
                if (x.store != store || state_.is_placed[ix(x.giver)]) continue;
                awaited |= state_.asked[d] < never;
                if (state_.asked[d] >= never && next == problem_.on_demand.size()) next = d;
            }
        }
        if (awaited || next == problem_.on_demand.size() ||
            problem_.stores[ix(problem_.on_demand[next].store)].life < overnight)
            continue;
        std::int64_t wanted = 0;
        for (std::size_t i = 0; i < problem_.operations.size(); ++i) {
            if (state_.is_placed[i]) continue;
            const Range takes = problem_.operations[i].takes;
            for (std::int32_t t = takes.begin; t < takes.end; ++t) {
                if (shares(problem_.takes[ix(t)].any_of)) wanted += problem_.takes[ix(t)].amount;
            }
        }
        const CompiledOperation& giver = problem_.operations[ix(problem_.on_demand[next].giver)];
        if (left < wanted && 2 * left < problem_.gives[ix(giver.gives.begin)].amount) tell(next);
    }
}

void Decoder::tell(std::size_t on_demand) {
    state_.asked[on_demand] = -never;
    for (const std::int32_t b : problem_.on_demand[on_demand].blocks)
        arrived(b, true);
    told_ = true;
    restart_ = 0;
}

// Nothing else happens any more: what is left is done now. False: nothing is.
bool Decoder::tell_all() {
    bool any = false;
    for (std::size_t k = 0; k < state_.asked.size(); ++k) {
        if (state_.asked[k] <= -never) continue;
        tell(k);
        any = true;
    }
    return any;
}

Tick Decoder::next_asked() const {
    Tick next = never;
    for (const Tick t : state_.asked) {
        if (t > -never) next = std::min(next, t);
    }
    return next;
}

}  // namespace sched::engine
