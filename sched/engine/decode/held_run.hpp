#pragma once
// A run of the decoder that is kept, with what the floor looked like at some of its instants: a
// sequence that differs from the kept one only in what comes later begins there.

#include <algorithm>
#include <cstdint>
#include <span>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/decode/timelines.hpp"
#include "sched/engine/decode/waiting.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// Who became eligible when and who was booked in which order, and the saved floors. Two of these
/// records: the held run and the one under way; they share the saved floors of their common
/// beginning. Used by Decoder alone.
class HeldRun {
public:
    explicit HeldRun(const CompiledProblem& p);

    bool held() const { return held_; }
    const Sequence& sequence() const { return sequence_; }
    const FlatSchedule& schedule() const { return schedule_; }

    /// A run begins at the start (from < 0) or at saved floor `from` of the held run.
    void begin(std::int32_t from);
    /// A run that repeats all of the held one.
    void begin_all();
    void arrived(std::int32_t block) {
        now_.arrived[ix(block)] = static_cast<std::int32_t>(now_.booked.size());
    }
    /// A block is tried, for the first time or again.
    void tried(std::int32_t block) {
        std::int32_t& first = now_.tried[ix(block)];
        first = std::min(first, static_cast<std::int32_t>(now_.booked.size()));
    }
    /// Who is awake when a block, or a batch mates, is about to be booked.
    void awake(const Waiting& waiting) { waiting.awake_to(awake_now_.data()); }
    /// Nothing is known of who is: everybody may be.
    void all_awake() { std::fill(awake_now_.begin(), awake_now_.end(), ~std::uint64_t{0}); }
    void booked(std::int32_t block) {
        now_.booked.push_back(block);
        now_.awake.insert(now_.awake.end(), awake_now_.begin(), awake_now_.end());
    }
    /// Time to save the floor again?
    bool wants() const { return static_cast<std::int32_t>(now_.booked.size()) >= next_; }
    void save(const Timelines& state);
    /// The run under way, complete, becomes the held one. @param place per block, in rank order.
    void hold(const Sequence& sequence, const FlatSchedule& schedule,
              std::span<const std::int32_t> place);

    enum class Same { Nothing, Beginning, All };
    /// How much of the held run a sequence repeats. @param place its blocks' places in rank order.
    /// @param from set to the last saved floor up to which nothing differs, if Beginning.
    Same repeats(const Sequence& sequence, std::span<const std::int32_t> place, std::int32_t& from);
    const Timelines& floor(std::int32_t from) const {
        return floors_[ix(held_now_.floors[ix(from)])].state;
    }

private:
    struct Floor {
        Timelines state;
        std::int32_t booked = 0;  // so many blocks before it
    };
    struct Record {
        std::vector<std::int32_t> arrived;  // per block: so many were booked before it could go
        std::vector<std::int32_t> tried;   // per block: no more were booked when it was first tried
        std::vector<std::int32_t> booked;  // blocks in the order of booking
        std::vector<std::int32_t> floors;  // into floors_, by time
        std::vector<std::uint64_t> awake;  // per booking: who was, bits by block (of what is new in
                                           // the run under way: by place)
    };
    void moved_blocks(std::span<const std::int32_t> place);
    bool could_go(std::int32_t block, std::int32_t booking) const {
        const std::size_t words = (held_now_.arrived.size() + 63) / 64;
        return shares_batches_[ix(block)] != 0 ||
               (held_now_.awake[ix(booking) * words + ix(block) / 64] >> (block % 64) & 1) != 0;
    }
    std::int32_t first_crossing(std::span<const std::int32_t> place, std::int32_t limit) const;

    const CompiledProblem& problem_;
    bool held_ = false;
    Sequence sequence_;
    FlatSchedule schedule_;
    std::vector<std::int32_t> place_;
    Record held_now_, now_;
    std::size_t shared_ = 0;  // so many of now_.floors are the held run's
    std::int32_t next_ = 0, step_ = 1;
    std::vector<Floor> floors_;
    std::vector<std::int32_t> free_;
    std::vector<std::int32_t> moved_, tail_, before_, by_place_;  // scratch
    std::vector<char> stays_;
    std::vector<std::uint64_t> awake_now_;
    std::size_t shared_booked_ = 0;  // so many of now_.booked are the held run's
    std::vector<char>
        shares_batches_;  // per block: whether others may come along, or it along with them
};

}  // namespace sched::engine
