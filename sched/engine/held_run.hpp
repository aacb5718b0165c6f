#pragma once
// A run of the decoder that is kept, with what the floor looked like at some of its instants: a
// sequence that differs from the kept one only in what comes later begins there.

#include <cstdint>
#include <span>
#include <vector>

#include "sched/engine/floor_state.hpp"
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
        now_.arrived[n(block)] = static_cast<std::int32_t>(now_.booked.size());
    }
    void booked(std::int32_t block) { now_.booked.push_back(block); }
    /// Time to save the floor again?
    bool wants() const { return static_cast<std::int32_t>(now_.booked.size()) >= next_; }
    void save(const FloorState& state);
    /// The run under way, complete, becomes the held one. @param place per block, in rank order.
    void hold(const Sequence& sequence, const FlatSchedule& schedule,
              std::span<const std::int32_t> place);

    enum class Same { Nothing, Beginning, All };
    /// How much of the held run a sequence repeats. @param place its blocks' places in rank order.
    /// @param from set to the last saved floor up to which nothing differs, if Beginning.
    Same repeats(const Sequence& sequence, std::span<const std::int32_t> place, std::int32_t& from);
    const FloorState& floor(std::int32_t from) const {
        return floors_[n(held_now_.floors[n(from)])].state;
    }

private:
    struct Floor {
        FloorState state;
        std::int32_t booked = 0;  // so many blocks before it
    };
    struct Record {
        std::vector<std::int32_t> arrived;  // per block: so many were booked before it could go
        std::vector<std::int32_t> booked;   // blocks in the order of booking
        std::vector<std::int32_t> floors;   // into floors_, by time
    };
    template <class I>
    static std::size_t n(I i) {
        return static_cast<std::size_t>(i);
    }
    void moved_blocks(std::span<const std::int32_t> place);
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
};

}  // namespace sched::engine
