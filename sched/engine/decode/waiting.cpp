// How it works: each block that may go is a bit at its place in rank order; one set of words
// says who waits, one who sleeps. Sleepers have a time and perhaps a resource to wait for;
// blocks of one kind that failed for the same reason sleep together. Waking and the next time
// to look at are found from these sets without a list to sort.

#include "sched/engine/decode/waiting.hpp"

#include "sched/core/index.hpp"

#include <algorithm>
#include <limits>
#include <numeric>

namespace sched::engine {

// Ranks are small numbers, so counting sorts them; any other keys by comparison.
void Turns::by(std::span<const std::int32_t> key) {
    place.resize(key.size());
    block.resize(key.size());
    constexpr std::int32_t first = std::numeric_limits<std::int32_t>::min();
    std::int32_t low = std::numeric_limits<std::int32_t>::max(), high = first;
    for (const std::int32_t k : key) {
        if (k == first) continue;
        low = std::min(low, k);
        high = std::max(high, k);
    }
    const std::int64_t range = std::int64_t{high} - low + 2;  // one for those before all others
    if (range > 0 && range <= 4 * static_cast<std::int64_t>(key.size()) + 1024) {
        count.assign(static_cast<std::size_t>(range) + 1, 0);
        const auto bucket = [&](std::int32_t k) {
            return k == first ? 0 : static_cast<std::size_t>(k - low) + 1;
        };
        for (const std::int32_t k : key)
            ++count[bucket(k) + 1];
        for (std::size_t i = 1; i < count.size(); ++i)
            count[i] += count[i - 1];
        for (std::size_t b = 0; b < key.size(); ++b)
            block[static_cast<std::size_t>(count[bucket(key[b])]++)] = static_cast<std::int32_t>(b);
    } else {
        std::iota(block.begin(), block.end(), 0);
        std::sort(block.begin(), block.end(), [&](std::int32_t a, std::int32_t b) {
            return key[static_cast<std::size_t>(a)] < key[static_cast<std::size_t>(b)] ||
                   (key[static_cast<std::size_t>(a)] == key[static_cast<std::size_t>(b)] && a < b);
        });
    }
    for (std::size_t i = 0; i < block.size(); ++i)
        place[static_cast<std::size_t>(block[i])] = static_cast<std::int32_t>(i);
}

Waiting::Waiting(const CompiledProblem& p)
    : words_((p.blocks.size() + 63) / 64),
      kinds_(static_cast<std::size_t>(p.kinds)),
      place_(p.blocks.size()),
      at_(p.blocks.size()),
      kind_(p.blocks.size()),
      until_(p.blocks.size()),
      kind_until_(kinds_),
      waits_for_(p.blocks.size()),
      kind_waits_for_(kinds_),
      freed_(p.resources.size() + 3, 0) {
    asleep_.reserve(kinds_);
    slot_.resize(freed_.size());
    std::iota(slot_.begin(), slot_.end(), 0);
    const auto root = [&](std::int32_t s) {
        while (slot_[ix(s)] != s)
            s = slot_[ix(s)];
        return s;
    };
    for (const CompiledNeed& need : p.needs) {
        for (std::int32_t c = need.any_of.begin; c + 1 < need.any_of.end; ++c) {
            const std::int32_t a = root(p.candidates[ix(c)] + 3);
            const std::int32_t b = root(p.candidates[ix(c + 1)] + 3);
            slot_[ix(std::max(a, b))] = std::min(a, b);
        }
    }
    for (std::size_t s = 0; s < slot_.size(); ++s)
        slot_[s] = root(static_cast<std::int32_t>(s));
}

void Waiting::fit(const CompiledProblem& p) {
    const std::size_t blocks = p.blocks.size();
    words_ = (blocks + 63) / 64;
    kinds_ = static_cast<std::size_t>(p.kinds);
    kind_.resize(blocks);
    until_.resize(blocks);
    waits_for_.resize(blocks);
    kind_until_.resize(kinds_);
    kind_waits_for_.resize(kinds_);
}

void Waiting::reset(const Turns& turns) {
    place_ = turns.place;
    at_ = turns.block;
    waiting_.assign(words_, 0);
    own_.assign(words_, 0);
    timed_.assign(words_, 0);
    with_kind_.assign(words_, 0);
    members_.assign(words_ * kinds_, 0);
    std::fill(kind_.begin(), kind_.end(), -1);
    std::fill(until_.begin(), until_.end(), -never);
    std::fill(kind_until_.begin(), kind_until_.end(), -never);
    std::fill(waits_for_.begin(), waits_for_.end(), -1);
    asleep_.clear();
    std::fill(freed_.begin(), freed_.end(), char{0});
    any_freed_ = false;
}

void Waiting::arrive(std::int32_t block, std::int32_t kind, Tick now) {
    set(waiting_, block);
    if (until_[ix(block)] > now) {
        set(own_, block);
        if (until_[ix(block)] < never) set(timed_, block);
    }
    kind_[ix(block)] = kind;
    if (kind < 0) return;
    const std::size_t i = ix(place_[ix(block)]);
    members_[ix(kind) * words_ + i / 64] |= std::uint64_t{1} << (i % 64);
    if (std::find(asleep_.begin(), asleep_.end(), kind) != asleep_.end()) set(with_kind_, block);
}

void Waiting::leave(std::int32_t block) {
    clear(waiting_, block);
    clear(own_, block);
    clear(timed_, block);
    clear(with_kind_, block);
    const std::int32_t kind = kind_[ix(block)];
    if (kind < 0) return;
    const std::size_t i = ix(place_[ix(block)]);
    members_[ix(kind) * words_ + i / 64] &= ~(std::uint64_t{1} << (i % 64));
}

bool Waiting::nobody() const {
    return std::all_of(waiting_.begin(), waiting_.end(), [](std::uint64_t w) { return w == 0; });
}

void Waiting::sleep(std::int32_t block, Tick until, std::int32_t waits_for) {
    until_[ix(block)] = until;
    waits_for_[ix(block)] = waits_for;
    set(own_, block);
    if (until < never)
        set(timed_, block);
    else
        clear(timed_, block);
}

void Waiting::sleep_kind(std::int32_t kind, Tick until, std::int32_t waits_for) {
    if (std::find(asleep_.begin(), asleep_.end(), kind) == asleep_.end()) asleep_.push_back(kind);
    kind_until_[ix(kind)] = until;
    kind_waits_for_[ix(kind)] = waits_for;
    const std::uint64_t* m = members_.data() + ix(kind) * words_;
    for (std::size_t w = 0; w < words_; ++w)
        with_kind_[w] |= m[w];
}

// The kind at place i of those that sleep.
void Waiting::wake_kind(std::size_t i) {
    const std::int32_t kind = asleep_[i];
    asleep_[i] = asleep_.back();
    asleep_.pop_back();
    kind_until_[ix(kind)] = -never;
    const std::uint64_t* m = members_.data() + ix(kind) * words_;
    for (std::size_t w = 0; w < words_; ++w)
        with_kind_[w] &= ~m[w];
}

void Waiting::wake_freed(Tick now) {
    for (std::size_t w = 0; w < words_; ++w) {
        for (std::uint64_t bits = own_[w]; bits != 0; bits &= bits - 1) {
            const std::size_t i = w * 64 + ix(std::countr_zero(bits));
            const std::size_t block = ix(at_[i]);
            if (!is_freed(waits_for_[block])) continue;
            until_[block] = now;
            own_[w] &= ~(std::uint64_t{1} << (i % 64));
            timed_[w] &= ~(std::uint64_t{1} << (i % 64));
        }
    }
    for (std::size_t i = asleep_.size(); i-- > 0;) {
        if (is_freed(kind_waits_for_[ix(asleep_[i])])) wake_kind(i);
    }
    std::fill(freed_.begin(), freed_.end(), char{0});
    any_freed_ = false;
}

void Waiting::wake(std::int32_t block) {
    until_[ix(block)] = -never;
    clear(own_, block);
    clear(timed_, block);
}

void Waiting::advance(Tick now) {
    for (std::size_t w = 0; w < words_; ++w) {
        for (std::uint64_t bits = timed_[w]; bits != 0; bits &= bits - 1) {
            const std::uint64_t bit = bits & ~(bits - 1);
            if (until_[ix(at_[w * 64 + ix(std::countr_zero(bits))])] > now) continue;
            own_[w] &= ~bit;
            timed_[w] &= ~bit;
        }
    }
    for (std::size_t i = asleep_.size(); i-- > 0;) {
        if (kind_until_[ix(asleep_[i])] <= now) wake_kind(i);
    }
}

Tick Waiting::next_time() const {
    Tick next = never;
    for (std::size_t w = 0; w < words_; ++w) {
        for (std::uint64_t bits = timed_[w]; bits != 0; bits &= bits - 1) {
            const std::size_t block = ix(at_[w * 64 + ix(std::countr_zero(bits))]);
            const std::int32_t kind = kind_[block];
            next = std::min(
                next, kind < 0 ? until_[block] : std::max(until_[block], kind_until_[ix(kind)]));
        }
    }
    for (const std::int32_t kind : asleep_) {
        if (kind_until_[ix(kind)] >= next) continue;
        const std::uint64_t* m = members_.data() + ix(kind) * words_;
        for (std::size_t w = 0; w < words_; ++w) {
            if ((m[w] & ~own_[w]) == 0) continue;
            next = kind_until_[ix(kind)];
            break;
        }
    }
    return next;
}

void Waiting::reorder(const Turns& turns) {
    // By block for a moment, then by the new places.
    who_.clear();
    for (std::size_t w = 0; w < words_; ++w) {
        for (std::uint64_t bits = waiting_[w]; bits != 0; bits &= bits - 1) {
            const std::uint64_t bit = bits & ~(bits - 1);
            const std::int32_t flags = ((own_[w] & bit) ? 1 : 0) | ((with_kind_[w] & bit) ? 2 : 0) |
                                       ((timed_[w] & bit) ? 4 : 0);
            who_.push_back(at_[w * 64 + ix(std::countr_zero(bits))] * 8 + flags);
        }
    }
    place_ = turns.place;
    at_ = turns.block;
    std::fill(waiting_.begin(), waiting_.end(), 0);
    std::fill(own_.begin(), own_.end(), 0);
    std::fill(timed_.begin(), timed_.end(), 0);
    std::fill(with_kind_.begin(), with_kind_.end(), 0);
    std::fill(members_.begin(), members_.end(), 0);
    for (const std::int32_t f : who_) {
        const std::int32_t block = f / 8;
        set(waiting_, block);
        if (f & 1) set(own_, block);
        if (f & 2) set(with_kind_, block);
        if (f & 4) set(timed_, block);
        const std::int32_t kind = kind_[ix(block)];
        if (kind < 0) continue;
        const std::size_t i = ix(place_[ix(block)]);
        members_[ix(kind) * words_ + i / 64] |= std::uint64_t{1} << (i % 64);
    }
}

}  // namespace sched::engine
