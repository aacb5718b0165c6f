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
