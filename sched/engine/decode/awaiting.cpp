// Waiting on purpose for another operation (Sequence::after): a block is not tried before the other
// has begun or ended. Those who wait for each other in a circle wait for ever: such a sequence has
// no schedule.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

// When what the block waits for has happened, by what is known; never: not known yet.
Tick Decoder::awaited_at(std::int32_t b) const {
    const std::int32_t op = problem_.ops_of(problem_.blocks[ix(b)]).front();
    const std::int32_t after = run_.sequence->after[ix(op)];
    if (after < 0) return -never;
    const std::int32_t other = awaited(after);
    if (state_.is_placed[ix(other)] == 0) return never;
    if (awaits_start(after)) return state_.placed.start[ix(other)];
    const CompiledOperation& o = problem_.operations[ix(other)];
    const bool dries = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(other)])].coupled;
    if (dries && state_.is_placed[ix(other)] != is_dry) return never;
    return state_.placed.work_end[ix(other)];
}

// The times of `op` are known, or others than before.
void Decoder::tell_awaiting(std::int32_t op) {
    for (const auto& [other, block] : awaiting_) {
        if (other != op || state_.done[ix(block)]) continue;
        state_.waiting.wake(block);
        restart_ = std::min(restart_, state_.waiting.place_of(block));
    }
}

}  // namespace sched::engine
