#pragma once
// The blocks that may go, by rank, and until when there is no point in trying them. Bits by place
// in rank order, so that a pass over the many that sleep costs a word of 64 at a time.

#include <bit>
#include <cstdint>
#include <span>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

/// What a block may wait for beside a resource: nothing but the time; that somebody leaves what he
/// holds; that something comes into a store.
inline constexpr std::int32_t waits_for_nothing = -1, waits_for_way_out = -2, waits_for_store = -3;

/// Where each block stands in rank order.
struct Turns {
    std::vector<std::int32_t> place;  // per block
    std::vector<std::int32_t> block;  // per place
    std::vector<std::int32_t> count;  // scratch
    /// @param key per block; lower goes first, equal keys by number.
    void by(std::span<const std::int32_t> key);
};

/// A block sleeps by itself (until its own time) and with its kind (blocks of one kind fail for the
/// same reason: one try is enough for all). What it sleeps for may come free early (`freed`): that
/// is noted at once and takes effect with `settle`, so that many notes cost one pass.
class Waiting {
public:
    explicit Waiting(const CompiledProblem& p);

    /// Other blocks: as many as the problem has now.
    void fit(const CompiledProblem& p);
    /// Nobody waits.
    void reset(const Turns& turns);
    /// Other ranks; who waits, and for what, stays.
    void reorder(const Turns& turns);

    void arrive(std::int32_t block, std::int32_t kind, Tick now);
    /// Its place in the order of turns. Before it arrives; whoever else stands there must not wait.
    void stand_at(std::int32_t block, std::int32_t place) {
        place_[ix(block)] = place;
        at_[ix(place)] = block;
    }
    void leave(std::int32_t block);
    bool nobody() const;

    std::int32_t place_of(std::int32_t block) const { return place_[ix(block)]; }
    std::int32_t block_at(std::int32_t place) const { return at_[ix(place)]; }
    std::int32_t kind_of(std::int32_t block) const { return kind_[ix(block)]; }
    /// First place >= from whose block is awake; -1: none.
    std::int32_t next_awake(std::int32_t from) const {
        std::size_t w = ix(from) / 64;
        if (w >= words_) return -1;
        std::uint64_t bits = awake(w) & (~std::uint64_t{0} << (ix(from) % 64));
        while (bits == 0) {
            if (++w >= words_) return -1;
            bits = awake(w);
        }
        return static_cast<std::int32_t>(w * 64 + ix(std::countr_zero(bits)));
    }
    /// Who is awake, as bits by place; words() of them.
    void awake_to(std::uint64_t* bits) const {
        for (std::size_t w = 0; w < words_; ++w)
            bits[w] = awake(w);
    }
    std::size_t words() const { return words_; }
    /// First place >= from where somebody waits, asleep or not; -1: none.
    std::int32_t next(std::int32_t from) const {
        for (std::size_t i = ix(from); i < at_.size(); ++i) {
            if (waiting_[i / 64] >> (i % 64) & 1) return static_cast<std::int32_t>(i);
        }
        return -1;
    }

    /// @param waits_for resource, or one of the numbers below 0. Whoever waits for one of several
    /// that would do waits for all of them.
    void sleep(std::int32_t block, Tick until, std::int32_t waits_for);
    void sleep_kind(std::int32_t kind, Tick until, std::int32_t waits_for);
    void freed(std::int32_t what) {
        freed_[ix(slot_[ix(what + 3)])] = 1;
        any_freed_ = true;
    }
    /// What was freed wakes those who sleep for it.
    void settle(Tick now) {
        if (any_freed_) wake_freed(now);
    }
    void wake(std::int32_t block);
    /// Wakes all whose time has come.
    void advance(Tick now);
    /// When the first of all who wait wakes by time alone; never: nobody.
    Tick next_time() const;

private:
    std::uint64_t awake(std::size_t w) const { return waiting_[w] & ~own_[w] & ~with_kind_[w]; }
    void set(std::vector<std::uint64_t>& bits, std::int32_t block) const {
        const std::size_t i = ix(place_[ix(block)]);
        bits[i / 64] |= std::uint64_t{1} << (i % 64);
    }
    void clear(std::vector<std::uint64_t>& bits, std::int32_t block) const {
        const std::size_t i = ix(place_[ix(block)]);
        bits[i / 64] &= ~(std::uint64_t{1} << (i % 64));
    }
    bool is_freed(std::int32_t what) const { return freed_[ix(slot_[ix(what + 3)])] != 0; }
    void wake_freed(Tick now);
    void wake_kind(std::size_t i);

    std::size_t words_, kinds_;
    std::vector<std::int32_t> place_, at_;  // block ↔ place in rank order
    std::vector<std::uint64_t> waiting_;    // by place
    std::vector<std::uint64_t> own_;        // sleeps by itself
    std::vector<std::uint64_t> timed_;      // of those: until a time to come, not for good
    std::vector<std::uint64_t> with_kind_;  // sleeps with its kind
    std::vector<std::uint64_t> members_;    // per kind and word: who waits of the kind
    std::vector<std::int32_t> kind_;        // per block that waits
    std::vector<Tick> until_, kind_until_;  // per block, per kind
    std::vector<std::int32_t> waits_for_, kind_waits_for_;
    std::vector<std::int32_t> asleep_;  // kinds that sleep
    std::vector<std::int32_t> slot_;  // by what + 3: resources that stand for each other share one
    std::vector<char> freed_;         // by slot
    bool any_freed_ = false;
    std::vector<std::int32_t> who_;  // scratch
};

}  // namespace sched::engine
