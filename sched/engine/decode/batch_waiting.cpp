// Company: blocks that share a batch on purpose. They wait until all of them may go and are booked
// as one; the batch begins when the last of them can.
//
// Why nobody waits for ever: a block that waits has booked nothing, so it breaks no maximum lag
// (those tie operations together within a block), and what it holds open was allowed by the
// banker's test. When nothing else is left to happen, companies part, one after the other, and the
// run goes on as it would without them.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

namespace {

// Timelines::batch mates; 0: may not go yet.
constexpr char waits_for_batch = 1, in_waiting_batch = 2, without_waiting_batch = 3;
constexpr int most_beginnings = 8;

}  // namespace

// Companies of the sequence: two blocks or more whose operations are of one family, the first of
// each block that takes batches. Who brings the longest work opens the batch; then by rank.
void Decoder::gather_companies() {
    companies_.clear();
    members_.clear();
    block_waiting_batch_.clear();
    if (sequence_->waiting_batch.empty() || !problem_.batches) return;
    member_rows_.clear();
    for (std::size_t i = 0; i < sequence_->waiting_batch.size(); ++i) {
        const CompiledOperation& o = problem_.operations[i];
        if (sequence_->waiting_batch[i] < 0 || o.batch_family < 0 || o.open || o.coupled ||
            o.fixed || problem_.blocks[ix(o.block)].urgent ||
            problem_.blocks[ix(o.block)].begun > 0)
            continue;
        const auto ops = problem_.ops_of(problem_.blocks[ix(o.block)]);
        const auto first = std::find_if(ops.begin(), ops.end(), [&](std::int32_t op) {
            return problem_.operations[ix(op)].batch_family >= 0;
        });
        if (*first != static_cast<std::int32_t>(i)) continue;
        member_rows_.push_back(
            {sequence_->waiting_batch[i], static_cast<std::int32_t>(i), o.block});
    }
    if (member_rows_.size() < 2) return;
    block_waiting_batch_.assign(problem_.blocks.size(), -1);
    block_shares_.resize(problem_.blocks.size());
    // A screen may be loaded, exposed and unloaded in batches of their own: all of that counts.
    const auto work = [&](const Member& x) {
        Tick sum = 0;
        for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(x.block)])) {
            const CompiledOperation& o = problem_.operations[ix(op)];
            if (o.batch_family >= 0) sum += problem_.modes[ix(o.modes.begin)].work;
        }
        return sum;
    };
    std::sort(member_rows_.begin(), member_rows_.end(), [&](const Member& a, const Member& b) {
        if (a.number != b.number) return a.number < b.number;
        if (work(a) != work(b)) return work(a) > work(b);
        const std::int32_t x = turns_.place[ix(a.block)], y = turns_.place[ix(b.block)];
        return x != y ? x < y : a.operation < b.operation;
    });
    for (std::size_t i = 0; i < member_rows_.size();) {
        const std::int32_t number = member_rows_[i].number;
        const std::int32_t family = problem_.operations[ix(member_rows_[i].operation)].batch_family;
        const auto waiting_batch = static_cast<std::int32_t>(companies_.size());
        const auto begin = static_cast<std::int32_t>(members_.size());
        for (; i < member_rows_.size() && member_rows_[i].number == number; ++i) {
            const Member& m = member_rows_[i];
            if (problem_.operations[ix(m.operation)].batch_family != family) continue;
            block_waiting_batch_[ix(m.block)] = waiting_batch;
            block_shares_[ix(m.block)] = m.operation;
            members_.push_back(m.block);
        }
        if (members_.size() - ix(begin) < 2) {
            for (std::size_t k = ix(begin); k < members_.size(); ++k)
                block_waiting_batch_[ix(members_[k])] = -1;
            members_.resize(ix(begin));
        } else {
            companies_.push_back({begin, static_cast<std::int32_t>(members_.size())});
        }
    }
    if (companies_.empty()) block_waiting_batch_.clear();
}

/// The blocks that share a batch with this one, itself among them; empty: none.
std::span<const std::int32_t> Decoder::waiting_batch_of(std::int32_t block) const {
    if (block_waiting_batch_.empty() || block_waiting_batch_[ix(block)] < 0) return {};
    const Range r = companies_[ix(block_waiting_batch_[ix(block)])];
    return {members_.data() + r.begin, ix(r.size())};
}

bool Decoder::goes_together(std::int32_t block) const {
    return !block_waiting_batch_.empty() && state_.waiting_batch[ix(block)] == in_waiting_batch;
}

// The block may go. False: it waits for others of its batch mates; the last of them brings all
// along.
bool Decoder::meets_waiting_batch(std::int32_t block) {
    const auto members = waiting_batch_of(block);
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
    if (block_waiting_batch_.empty()) return false;
    for (const Range& r : companies_) {
        const std::span<const std::int32_t> members{members_.data() + r.begin, ix(r.size())};
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
void Decoder::part_companies() {
    for (std::size_t b = 0; b < state_.waiting_batch.size(); ++b) {
        const auto block = static_cast<std::int32_t>(b);
        if (state_.done[b] || state_.missing[b] > 0) continue;
        const char how = state_.waiting_batch[b];
        state_.waiting_batch[b] = without_waiting_batch;
        if (how == waits_for_batch) enter(block);
        if (how == in_waiting_batch) state_.waiting.wake(block);
    }
    for (const Range& r : companies_) {
        const std::span<const std::int32_t> members{members_.data() + r.begin, ix(r.size())};
        if (std::any_of(members.begin(), members.end(),
                        [&](std::int32_t m) { return state_.missing[ix(m)] == 0; })) {
            for (const std::int32_t m : members)
                state_.waiting_batch[ix(m)] = without_waiting_batch;
        }
    }
}

bool Decoder::goes_with_waiting_batch(std::int32_t op, const CompiledMode& m, std::int32_t r) {
    const OpenBatch& b = state_.batches[ix(waiting_batch_number_)];
    if (r != b.resource) return false;
    if (b.start + m.work <= b.work_end &&
        b.end - b.start - m.work <= problem_.operations[ix(op)].stretch &&
        packs(waiting_batch_number_, op))
        return true;
    waiting_batch_cannot_ = true;
    return false;
}

// Books all members, the batch at the first instant at which the last can join it. False: nothing
// of them is left booked.
bool Decoder::book_waiting_batch(std::span<const std::int32_t> members) {
    booking_waiting_batch_ = true;
    waiting_batch_cannot_ = false;
    waiting_batch_from_ = -never;
    bool ok = false;
    for (int beginning = 0; beginning < most_beginnings && !ok; ++beginning) {
        waiting_batch_number_ = -1;
        waiting_batch_missed_ = -never;
        std::size_t k = 0;
        ok = true;
        for (; ok && k < members.size(); ++k) {
            Tick found = never;
            ++counters_.tried;
            ok = book(members[k], 0, never, true, found);
        }
        if (ok) {
            for (const std::int32_t m : members) {
                const std::int32_t batch = state_.placed.batch[ix(block_shares_[ix(m)])];
                if (batch != waiting_batch_number_) waiting_batch_cannot_ = true;
            }
            // Ends of members that were booked before the batch grew longer.
            ok = !waiting_batch_cannot_ &&
                 std::all_of(members.begin(), members.end(),
                             [&](std::int32_t m) { return consistent(m); });
            if (!ok) waiting_batch_cannot_ = true;
        } else {
            --k;  // that one has taken itself back
        }
        if (ok) break;
        while (k > 0) {
            const auto ops = problem_.ops_of(problem_.blocks[ix(members[--k])]);
            for (std::size_t i = ops.size(); i-- > 0;)
                unplace(ops[i]);
        }
        if (waiting_batch_cannot_ || waiting_batch_missed_ <= waiting_batch_from_) break;
        waiting_batch_from_ = waiting_batch_missed_;
        if (beginning + 1 == most_beginnings) waiting_batch_cannot_ = true;
    }
    booking_waiting_batch_ = false;
    return ok;
}

// As try_block for all of a batch mates. If they can never be together they part.
bool Decoder::try_waiting_batch(std::span<const std::int32_t> members) {
    for (const std::int32_t m : members)
        lift(m, -1);
    obstacle_ = Obstacle::None;
    const bool ok = book_waiting_batch(members);
    for (const std::int32_t m : members)
        lift(m, 1);
    const auto sleep = [&](Tick until, std::int32_t waits_for) {
        for (const std::int32_t m : members)
            state_.waiting.sleep(m, until, waits_for);
        return false;
    };
    if (!ok) {
        if (!waiting_batch_cannot_ && obstacle_ != Obstacle::Limits)
            return sleep(never, waits_for_);
        alone(members);
        return false;
    }
    const auto take_back = [&] {
        for (std::size_t k = members.size(); k-- > 0;) {
            const auto ops = problem_.ops_of(problem_.blocks[ix(members[k])]);
            for (std::size_t i = ops.size(); i-- > 0;)
                unplace(ops[i]);
            pass_exits(members[k]);
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
    if (problem_.circles && !safe_after(members)) {
        take_back();
        fail(Obstacle::Blocked, problem_.ops_of(problem_.blocks[ix(members.front())]).front());
        return sleep(never, -2);
    }
    return true;
}

}  // namespace sched::engine
