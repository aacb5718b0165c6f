// How it works: a held run keeps its sequence, its schedule and, now and then, the whole state
// of the floor. A new sequence is compared with it: ranks by the blocks that have left a
// longest increasing subsequence, genes one by one; each difference says from which booking on
// the runs can differ. The newest saved state before the first of them is where the new run
// begins.

#include "sched/engine/decode/held_run.hpp"

#include "sched/core/index.hpp"

#include <algorithm>
#include <bit>
#include <limits>
#include <utility>

namespace sched::engine {

namespace {

constexpr std::int32_t floors_a_run = 12;

// An empty vector of genes means that all are at their default.
template <class T, class Report>
void compare_genes(const std::vector<T>& a, const std::vector<T>& b, T none, Report report) {
    if (a.size() == b.size()) {
        for (std::size_t i = 0; i < a.size(); ++i) {
            if (a[i] != b[i]) report(i);
        }
        return;
    }
    const std::vector<T>& filled = a.empty() ? b : a;
    for (std::size_t i = 0; i < filled.size(); ++i) {
        if (filled[i] != none) report(i);
    }
}

}  // namespace

HeldRun::HeldRun(const CompiledProblem& p) : problem_(p) {
    const std::size_t blocks = p.blocks.size();
    step_ = std::max(4, static_cast<std::int32_t>(blocks) / floors_a_run);
    for (Record* r : {&held_now_, &now_}) {
        r->arrived.assign(blocks, 0);
        r->tried.assign(blocks, 0);
        r->booked.reserve(blocks);
        r->floors.reserve(ix(floors_a_run) * 2 + 4);
        r->awake.reserve(blocks * ((blocks + 63) / 64));
    }
    awake_now_.assign((blocks + 63) / 64, 0);
    shares_batches_.assign(blocks, 0);
    for (const auto& o : p.operations) {
        if (p.batches && o.batch_family >= 0) shares_batches_[ix(o.block)] = 1;
    }
    // The run under way and the held one; saved floors are made when first needed.
    floors_.reserve(ix(floors_a_run) * 4 + 8);
    free_.reserve(floors_.capacity());
}

void HeldRun::begin(std::int32_t from) {
    for (std::size_t i = shared_; i < now_.floors.size(); ++i)
        free_.push_back(now_.floors[i]);
    if (from < 0) {
        now_.booked.clear();
        now_.floors.clear();
        std::fill(now_.tried.begin(), now_.tried.end(), std::numeric_limits<std::int32_t>::max());
        now_.awake.clear();
        shared_ = shared_booked_ = 0;
        next_ = step_;
        return;
    }
    shared_ = ix(from) + 1;
    now_.floors.assign(held_now_.floors.begin(),
                       held_now_.floors.begin() + static_cast<std::ptrdiff_t>(shared_));
    const std::int32_t booked = floors_[ix(now_.floors.back())].booked;
    now_.booked.assign(held_now_.booked.begin(), held_now_.booked.begin() + booked);
    const std::size_t words = (now_.arrived.size() + 63) / 64;
    now_.awake.assign(held_now_.awake.begin(),
                      held_now_.awake.begin() + static_cast<std::ptrdiff_t>(ix(booked) * words));
    shared_booked_ = ix(booked);
    now_.arrived = held_now_.arrived;
    now_.tried = held_now_.tried;
    next_ = booked + step_;
}

void HeldRun::begin_all() {
    begin(-1);
    now_ = held_now_;
    shared_ = now_.floors.size();
    shared_booked_ = now_.booked.size();
}

void HeldRun::save(const Timelines& state) {
    std::int32_t slot = 0;
    if (free_.empty()) {
        slot = static_cast<std::int32_t>(floors_.size());
        floors_.push_back({state, 0});
    } else {
        slot = free_.back();
        free_.pop_back();
        floors_[ix(slot)].state = state;
    }
    const auto booked = static_cast<std::int32_t>(now_.booked.size());
    floors_[ix(slot)].booked = booked;
    now_.floors.push_back(slot);
    next_ = booked + step_;
}

void HeldRun::hold(const Sequence& sequence, const FlatSchedule& schedule,
                   std::span<const std::int32_t> place) {
    for (std::size_t i = shared_; i < held_now_.floors.size(); ++i)
        free_.push_back(held_now_.floors[i]);
    // By block, so that it stays true when ranks change.
    const std::size_t words = (place.size() + 63) / 64;
    by_place_.resize(place.size());
    for (std::size_t b = 0; b < place.size(); ++b)
        by_place_[ix(place[b])] = static_cast<std::int32_t>(b);
    for (std::size_t k = shared_booked_; k < now_.booked.size(); ++k) {
        std::uint64_t* bits = now_.awake.data() + k * words;
        awake_now_.assign(bits, bits + words);
        std::fill_n(bits, words, 0);
        for (std::size_t w = 0; w < words; ++w) {
            for (std::uint64_t left = awake_now_[w]; left != 0; left &= left - 1) {
                const std::size_t at = w * 64 + ix(std::countr_zero(left));
                if (at >= by_place_.size()) break;
                const auto b = ix(by_place_[at]);
                bits[b / 64] |= std::uint64_t{1} << (b % 64);
            }
        }
    }
    shared_booked_ = now_.booked.size();
    held_now_.awake = now_.awake;
    held_now_.arrived = now_.arrived;
    held_now_.tried = now_.tried;
    held_now_.booked = now_.booked;
    held_now_.floors = now_.floors;
    shared_ = now_.floors.size();
    sequence_ = sequence;
    schedule_ = schedule;
    place_.assign(place.begin(), place.end());
    held_ = true;
}

// All but the longest list of blocks that keep their order among each other (longest increasing
// subsequence, Fredman 1975).
void HeldRun::moved_blocks(std::span<const std::int32_t> place) {
    const std::size_t blocks = place.size();
    by_place_.resize(blocks);
    for (std::size_t b = 0; b < blocks; ++b)
        by_place_[ix(place_[b])] = static_cast<std::int32_t>(b);
    tail_.clear();
    before_.assign(blocks, -1);
    for (const std::int32_t b : by_place_) {
        // Mostly in order already: look at the end first.
        auto at = tail_.end();
        if (!tail_.empty() && place[ix(tail_.back())] > place[ix(b)]) {
            at = std::lower_bound(tail_.begin(), tail_.end(), place[ix(b)],
                                  [&](std::int32_t x, std::int32_t y) { return place[ix(x)] < y; });
        }
        if (at != tail_.begin()) before_[ix(b)] = *(at - 1);
        if (at == tail_.end())
            tail_.push_back(b);
        else
            *at = b;
    }
    stays_.assign(blocks, 0);
    for (std::int32_t b = tail_.empty() ? -1 : tail_.back(); b >= 0; b = before_[ix(b)])
        stays_[ix(b)] = 1;
    moved_.clear();
    for (std::size_t b = 0; b < blocks; ++b) {
        if (!stays_[b]) moved_.push_back(static_cast<std::int32_t>(b));
    }
}

// The first booking of the held run, before number `limit`, at which somebody else who could go
// stands on the other side of the one that was booked.
std::int32_t HeldRun::first_crossing(std::span<const std::int32_t> place,
                                     std::int32_t limit) const {
    const auto crosses = [&](std::int32_t a, std::int32_t b) {
        return (place_[ix(a)] < place_[ix(b)]) != (place[ix(a)] < place[ix(b)]);
    };
    for (const std::int32_t b : moved_) {
        std::int32_t k = held_now_.arrived[ix(b)];
        for (; k < limit && held_now_.booked[ix(k)] != b; ++k) {
            if (could_go(b, k) && crosses(held_now_.booked[ix(k)], b)) limit = k;
        }
        if (k >= limit) continue;
        for (std::size_t later = ix(k) + 1; later < held_now_.booked.size(); ++later) {
            const std::int32_t d = held_now_.booked[later];
            if (held_now_.arrived[ix(d)] <= k && could_go(d, k) && crosses(d, b)) {
                limit = k;
                break;
            }
        }
    }
    return limit;
}

HeldRun::Same HeldRun::repeats(const Sequence& s, std::span<const std::int32_t> place,
                               std::int32_t& from) {
    if (!held_ || s.lookahead != sequence_.lookahead || s.keeps_turn != sequence_.keeps_turn ||
        s.baseline != sequence_.baseline || s.waits_inside != sequence_.waits_inside)
        return Same::Nothing;
    const auto all = static_cast<std::int32_t>(held_now_.booked.size());
    moved_blocks(place);
    std::int32_t limit = first_crossing(place, all);
    // What an operation's genes say is read when its block is tried; the saved floor must be older.
    // Modes, and who waits for whom, say already from when the block may go how it waits.
    const bool grouped = !s.waiting_batch.empty() || !sequence_.waiting_batch.empty();
    const auto early = [&](std::size_t op) {
        if (problem_.operations[op].begun) return;  // a fact
        const std::int32_t block = problem_.operations[op].block;
        // What a loose limit is for is looked at before it may go.
        limit = std::min({limit, held_now_.arrived[ix(block)] - 1, held_now_.tried[ix(block)] - 1});
    };
    const auto gene = [&](std::size_t op) {
        if (grouped) return early(op);
        if (problem_.operations[op].begun) return;
        const std::int32_t block = problem_.operations[op].block;
        limit = std::min(limit, held_now_.tried[ix(block)] - 1);
    };
    compare_genes(s.delay, sequence_.delay, std::int32_t{0}, gene);
    compare_genes(s.mode, sequence_.mode, std::int16_t{-1}, early);
    compare_genes(s.choice, sequence_.choice, std::uint8_t{0}, gene);
    compare_genes(s.join, sequence_.join, std::uint8_t{0}, gene);
    // A bound between what the held run kept to and when it began changes nothing, but for what a
    // loose limit runs for: that is looked at before.
    compare_genes(s.earliest, sequence_.earliest, -never, [&](std::size_t op) {
        const Tick was = sequence_.earliest.empty() ? -never : sequence_.earliest[op];
        const Tick is = s.earliest.empty() ? -never : s.earliest[op];
        const bool limited = problem_.blocks[ix(problem_.operations[op].block)].limited;
        if (is < was || is > schedule_.start[op] || limited) gene(op);
    });
    compare_genes(s.after, sequence_.after, std::int32_t{-1}, gene);
    // Who waits for whom concerns all of a batch mates.
    compare_genes(s.waiting_batch, sequence_.waiting_batch, std::int32_t{-1}, [&](std::size_t op) {
        for (const auto* waiting_batch :
             {&s.waiting_batch, &std::as_const(sequence_).waiting_batch}) {
            const std::int32_t number = waiting_batch->empty() ? -1 : (*waiting_batch)[op];
            for (std::size_t i = 0; i < waiting_batch->size() && number >= 0; ++i) {
                if ((*waiting_batch)[i] == number) early(i);
            }
        }
    });
    if (limit >= all) return Same::All;
    from = -1;
    for (std::size_t i = 0; i < held_now_.floors.size(); ++i) {
        if (floors_[ix(held_now_.floors[i])].booked > limit) break;
        from = static_cast<std::int32_t>(i);
    }
    return from < 0 ? Same::Nothing : Same::Beginning;
}

}  // namespace sched::engine
