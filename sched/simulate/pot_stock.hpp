#pragma once
// Mixed emulsion of a long run: what stands there, pot by pot, and until when each can be used.
// Seen in this folder only.

#include <cstdint>
#include <vector>

#include "sched/compile/room_problem.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::study {

/// Times in s of the run. Emulsions are numbered as RoomProblem::spare_emulsions; a pot stands in
/// the store of one of their mixes as long as there is something in it.
class PotStock {
public:
    explicit PotStock(const compile::RoomProblem& room);

    /// Some pots end within the run.
    bool end() const;
    /// False: it comes ready, or nobody of the room mixes it.
    bool mixed(std::size_t emulsion) const { return of_[emulsion].mixed; }
    /// s from when it is free of bubbles; never: it keeps for the run.
    engine::Tick life(std::size_t emulsion) const { return of_[emulsion].life; }

    /// A pot that is there, of an emulsion that is mixed. @param mix whose store it is in; -1: the
    /// last that is free.
    void add(std::size_t emulsion, int mix, std::int64_t volume, engine::Tick until);
    /// ml that can still be used at `at`.
    std::int64_t left_at(std::size_t emulsion, engine::Tick at) const;
    /// Mixes whose store holds nothing and is not `busy`, in rising order. Pots that end together
    /// stand in one store; no more than half of the stores hold pots: of two that end one after the
    /// other the rest of both stands in one, until the first does.
    std::vector<int> free_mixes(std::size_t emulsion, const std::vector<char>& busy);

    /// The stores of a day. @param shift what its times are sooner than those of the run.
    /// @param keep pots do not end on it.
    void put(std::vector<engine::CompiledStore>& stores, engine::Tick shift, bool keep);
    /// @returns false where the store is of an emulsion that is not mixed.
    bool take(std::int32_t store, std::int64_t amount);
    /// Of the day, from a store.
    std::int64_t taken(std::int32_t store) const { return taken_[static_cast<std::size_t>(store)]; }
    /// What was taken is gone, and so is what has ended by `to`.
    void close(engine::Tick to);
    /// Pots that ended with something in them.
    std::int64_t ended() const { return ended_; }

private:
    struct Pot {
        int mix = 0;
        std::int64_t left = 0;
        engine::Tick until = 0;
    };
    struct Emulsion {
        bool mixed = false;
        engine::Tick life = engine::never;
        std::vector<std::int32_t> store;  // by mix
        std::vector<Pot> pots;            // the first to end first
    };
    bool holds(const Emulsion& e, int mix) const;

    std::vector<Emulsion> of_;
    std::vector<char> mixed_;  // by store
    std::vector<std::int64_t> taken_;
    std::int64_t ended_ = 0;
};

}  // namespace sched::study
