// Waiting batches: blocks that share a batch on purpose. They wait until all of them may go and are
// booked as one; the batch begins when the last of them can.
//
// Why nobody waits for ever: a block that waits has booked nothing, so it breaks no maximum lag
// (those tie operations together within a block), and what it holds open was allowed by the
// banker's test. When nothing else is left to happen, they go alone, one group after the other, and
// the run goes on as it would without them.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

namespace {

// Timelines::batch mates; 0: may not go yet.
constexpr char waits_for_batch = 1, in_waiting_batch = 2, without_waiting_batch = 3;
constexpr int most_beginnings = 8;

}  // namespace

bool Decoder::goes_together(std::int32_t block) const {
    return !groups_.none() && state_.waiting_batch[ix(block)] == in_waiting_batch;
}

// The block may go. False: it waits for others of its batch mates; the last of them brings all
// along.
bool Decoder::meets_waiting_batch(std::int32_t block) {
    const auto members = groups_.of(block);
    if (members.empty() || state_.waiting_batch[ix(block)] == without_waiting_batch) return true;
    state_.waiting_batch[ix(block)] = waits_for_batch;
    for (const std::int32_t m : members) {
        if (state_.waiting_batch[ix(m)] != waits_for_batch) return false;
    }
    for (const std::int32_t m : members)
        state_.waiting_batch[ix(m)] = in_waiting_batch;
    for (const std::int32_t m : members) {
        if (m != block) enter(m);
    }
    return true;
}

// Each of them goes by itself from now on.
void Decoder::alone(std::span<const std::int32_t> members) {
    for (const std::int32_t m : members) {
        const char how = state_.waiting_batch[ix(m)];
        state_.waiting_batch[ix(m)] = without_waiting_batch;
        if (state_.done[ix(m)]) continue;
        if (how == waits_for_batch) enter(m);
        if (how == in_waiting_batch) state_.waiting.wake(m);
    }
}

// Nothing else will happen: the first batch mates of which somebody waits parts. False: nobody
// does.
bool Decoder::leave_waiting_batch() {
    if (groups_.none()) return false;
    for (std::size_t k = 0; k < groups_.groups(); ++k) {
        const auto members = groups_.group(k);
        if (std::none_of(members.begin(), members.end(), [&](std::int32_t m) {
                return !state_.done[ix(m)] && (state_.waiting_batch[ix(m)] == waits_for_batch ||
                                               state_.waiting_batch[ix(m)] == in_waiting_batch);
            }))
            continue;
        alone(members);
        return true;
    }
    return false;
}

// The run goes on with another sequence: who may go already has no batch mates in it.
void Decoder::leave_waiting_batches() {
    for (std::size_t b = 0; b < state_.waiting_batch.size(); ++b) {
        const auto block = static_cast<std::int32_t>(b);
        if (state_.done[b] || state_.missing[b] > 0) continue;
        const char how = state_.waiting_batch[b];
        state_.waiting_batch[b] = without_waiting_batch;
        if (how == waits_for_batch) enter(block);
        if (how == in_waiting_batch) state_.waiting.wake(block);
    }
    for (std::size_t k = 0; k < groups_.groups(); ++k) {
        const auto members = groups_.group(k);
        if (std::any_of(members.begin(), members.end(),
                        [&](std::int32_t m) { return state_.missing[ix(m)] == 0; })) {
            for (const std::int32_t m : members)
                state_.waiting_batch[ix(m)] = without_waiting_batch;
        }
    }
}

// Books all members, the batch at the first instant at which the last can join it. False: nothing
// of them is left booked.
bool Decoder::book_waiting_batch(std::span<const std::int32_t> members) {
    run_.group.booking = true;
    run_.group.cannot = false;
    run_.group.from = -never;
    bool ok = false;
    for (int beginning = 0; beginning < most_beginnings && !ok; ++beginning) {
        run_.group.batch = -1;
        run_.group.missed = -never;
        std::size_t k = 0;
        ok = true;
        for (; ok && k < members.size(); ++k) {
            Tick found = never;
            ++counters_.tried;
            ok = book(members[k], 0, never, true, found);
        }
        if (ok) {
            for (const std::int32_t m : members) {
                const std::int32_t batch = state_.placed.batch[ix(groups_.sharer(m))];
                if (batch != run_.group.batch) run_.group.cannot = true;
            }
            // Ends of members that were booked before the batch grew longer.
            ok = !run_.group.cannot &&
                 std::all_of(members.begin(), members.end(),
                             [&](std::int32_t m) { return bookings_.consistent(m); });
            if (!ok) run_.group.cannot = true;
        } else {
            --k;  // that one has taken itself back
        }
        if (ok) break;
        while (k > 0) {
            const auto ops = problem_.ops_of(problem_.blocks[ix(members[--k])]);
            for (std::size_t i = ops.size(); i-- > 0;)
                bookings_.unplace(ops[i]);
        }
        if (run_.group.cannot || run_.group.missed <= run_.group.from) break;
        run_.group.from = run_.group.missed;
        if (beginning + 1 == most_beginnings) run_.group.cannot = true;
    }
    run_.group.booking = false;
    return ok;
}

// As try_block for all of a batch mates. If they can never be together they part.
bool Decoder::try_waiting_batch(std::span<const std::int32_t> members) {
    for (const std::int32_t m : members)
        lift(m, -1);
    run_.obstacle = Obstacle::None;
    const bool ok = book_waiting_batch(members);
    for (const std::int32_t m : members)
        lift(m, 1);
    const auto sleep = [&](Tick until, std::int32_t waits_for) {
        for (const std::int32_t m : members)
            state_.waiting.sleep(m, until, waits_for);
        return false;
    };
    if (!ok) {
        if (!run_.group.cannot && run_.obstacle != Obstacle::Limits)
            return sleep(never, waits_for_);
        alone(members);
        return false;
    }
    const auto take_back = [&] {
        for (std::size_t k = members.size(); k-- > 0;) {
            const auto ops = problem_.ops_of(problem_.blocks[ix(members[k])]);
            for (std::size_t i = ops.size(); i-- > 0;)
                bookings_.unplace(ops[i]);
            held_places_.pass_exits(members[k]);
        }
    };
    Tick first = never;
    for (const std::int32_t m : members)
        first = std::min(first,
                         state_.placed.start[ix(problem_.ops_of(problem_.blocks[ix(m)]).front())]);
    first -= problem_.walk;  // they may have to come from elsewhere
    if (lookahead_ < never && first > state_.now + lookahead_) {
        take_back();
        return sleep(std::max(state_.now + 1, first - lookahead_), -1);
    }
    if (problem_.circles && !held_places_.safe_after(members)) {
        take_back();
        run_.fail(Obstacle::Blocked, problem_.ops_of(problem_.blocks[ix(members.front())]).front());
        return sleep(never, waits_for_way_out);
    }
    return true;
}

}  // namespace sched::engine
