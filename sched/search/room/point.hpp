#pragma once
// What the search over rooms varies: a point (keys per block, genes), the units that move together,
// and the moves from one point to the next.

#include <cstdint>
#include <span>
#include <vector>

#include "sched/engine/sequence.hpp"
#include "sched/search/base/rng.hpp"

namespace sched::search {

/// A point of the space. Blocks (engine/compiled_problem.hpp) go in the order of `key`, lower
/// first, equal keys by number; `genes` holds what a Sequence says beside the ranks.
struct RoomPoint {
    std::vector<double> key;
    engine::Sequence genes;
    std::vector<std::int32_t> after;  // per operation: the one whose end its delay waits for; -1:
                                      // none. Empty: none at all
};

/// A unit is what moves together: the blocks of a job, or those of no job that lags tie together
/// (a mixing and its rest).
struct RoomUnits {
    explicit RoomUnits(const engine::CompiledProblem& problem);

    std::vector<std::vector<std::int32_t>> blocks;    // per unit
    std::vector<std::int32_t> order;                  // per unit; -1: none
    std::vector<std::vector<std::int32_t>> of_order;  // units per order
    std::vector<std::int32_t> unit_of;                // per block
    std::vector<std::uint64_t> uses;                  // per block: resources it may take, by bit
                                                      // (number modulo 64)
    std::vector<std::vector<std::int32_t>>
        givers;  // per block: blocks that fill a store it takes from
    std::vector<std::int32_t> choosers, modal, batched;  // operations with a choice of resource,
                                                         // of mode, of batch
    bool small = false;  // drying depends on load, and few blocks: waits are worth a closer look
    std::vector<std::uint8_t> spare;  // per operation: the choice that leaves those free whom most
                                      // others want too

private:
    void find_spare(const engine::CompiledProblem& problem);
};

/// What a move may look at: the schedule of the point it starts from.
struct RoomView {
    const engine::CompiledProblem& problem;
    const RoomUnits& units;
    const engine::FlatSchedule& schedule;
    const std::vector<engine::Tick>& completion;  // per order; far below 0 if it has no operations
};

/// One kind of change. `apply` @returns false if it found nothing to change.
struct RoomMove {
    const char* name;
    int weight;  // how often it is taken at first, relative to the others
    bool (*apply)(RoomPoint& point, const RoomView& view, Rng& rng);
    bool (*suits)(const RoomUnits& units) = nullptr;  // false: never taken; null: suits all
};

/// All moves in a fixed order: adding one is a line of that table.
std::span<const RoomMove> room_moves();

/// Two units with as many blocks and operations take each other's part: turn, waits, choices.
/// @returns false if they are not alike.
bool swap_parts(RoomPoint& point, const RoomView& view, std::int32_t a, std::int32_t b);
/// Unit `a` begins when `b` is through one of its steps. @returns false if it does so anyway.
bool unit_after_unit(RoomPoint& point, const RoomView& view, std::int32_t a, std::int32_t b,
                     Rng& rng);

/// Keys 0, 1, 2, ... in the order that `point` has. @param turn blocks in that order; before:
/// empty, or the order of an earlier point of the problem, near which this one is found sooner.
void renumber(RoomPoint& point, std::vector<std::int32_t>& turn);

/// Blocks of `point` in order of their keys. @param turn as for renumber().
void blocks_in_turn(const RoomPoint& point, std::vector<std::int32_t>& turn);

/// Sets the ranks of `sequence` (all operations of a block alike) and copies the genes.
void to_sequence(const engine::CompiledProblem& problem, const RoomPoint& point,
                 const std::vector<std::int32_t>& turn, engine::Sequence& sequence);

/// A point whose blocks go as the operations of `sequence` do.
RoomPoint to_point(const engine::CompiledProblem& problem, const engine::Sequence& sequence);

}  // namespace sched::search
