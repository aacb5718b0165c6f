#pragma once
// What the planner varies and what comes back: a sequence of decisions in, a flat schedule out.

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "sched/core/schedule.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

struct Baseline;

/// A point of the search space. Every value of it decodes to a schedule or to a reason why not;
/// empty vectors mean "all at their default".
///
/// `rank`: priority list. Of all blocks (operations that finite maximum lags tie together) that may
/// go now, the one whose first operation has the lowest rank goes first; equal ranks by number. A
/// permutation of jobs is a rank per job given to all its operations; a permutation of operations
/// ranks each. `lookahead`: how far ahead of the present a block may be booked into gaps. 0: never
/// keeps a place idle that something ready could use (non-delay); `never`: serial insertion in rank
/// order (active schedules); between: parameterised active schedules (Gonçalves and Beirão 1999).
/// Ignored (`never`) where it costs nothing to know everything, that is by default where no drying
/// depends on load. `keeps_turn`: a block that needs two people or two places at once and cannot
/// have them yet keeps its turn: what stands behind it in rank takes nothing that would make it
/// later, what stands before it is not held up (backfilling as in Lifka 1995); without it small
/// work takes each of the two as it comes free, and the large never begins. `first_come`: instead
/// of by rank, blocks go in the order in which each could have begun if it had been alone (came to
/// its place); with `lookahead` 0 and no `baseline`, and not for decode_near. `baseline`: a plan
/// that is followed (baseline.hpp); it must outlive the run. `delay`: the block of the operation
/// starts no earlier than this long after its release and its lags allow: waiting on purpose; with
/// `waits_inside` the other operations of a block wait too, as far as their limits to what is
/// booked allow. `earliest`: the same as an instant, always inside blocks too. With `rank`,
/// `delay`, `mode`, `choice` and `join` free, every schedule in which no operation of a block could
/// start earlier by itself is in the space; for problems without blocks and shared clocks that
/// contains an optimum of every regular objective. `batch mates`: the blocks of operations with one
/// number wait for each other and are booked as one, their operations in one batch that begins when
/// the last can; where that cannot be, or nothing else is left to happen while they wait, each goes
/// by itself (batch mates.cpp).
struct Sequence {
    std::vector<std::int32_t> rank;   // per operation; lower goes first
    std::vector<std::int32_t> delay;  // per operation, s, >= 0
    bool waits_inside = false;        // delays of operations that are not the first of their block
    std::vector<Tick> earliest;       // per operation; starts no earlier, s; -never: whenever
    std::vector<std::int32_t> after;  // per operation, the first of its block; starts no earlier
                                      // than after_end(other) or after_start(other); -1: whenever
    std::vector<std::int16_t> mode;   // per operation; -1: the one that ends first
    std::vector<std::uint8_t>
        choice;  // per operation; candidate of any_of that is tried first (modulo its size)
    std::vector<std::uint8_t> join;  // per operation; 1: opens a batch of its own. 0: joins one
                                     // that fits and starts in time
    std::vector<std::int32_t>
        waiting_batch;  // per operation; equal numbers >= 0 share a batch; -1: nobody waits for it
    Tick lookahead = -1;  // s; -1: 0 where drying depends on load, else never
    bool keeps_turn = false;
    bool first_come = false;
    bool redoes = false;  // what has dried and waited for too long is done again
    const Baseline* baseline = nullptr;
};

/// What Sequence::after says of `other`.
constexpr std::int32_t after_end(std::int32_t other) {
    return 2 * other;
}
constexpr std::int32_t after_start(std::int32_t other) {
    return 2 * other + 1;
}
constexpr std::int32_t awaited(std::int32_t after) {
    return after / 2;
}
constexpr bool awaits_start(std::int32_t after) {
    return after % 2 == 1;
}

enum class Obstacle {
    None,
    Horizon,   // would end after the horizon
    Window,    // its latest start passes
    Deadline,  // its order's deadline passes
    Closed,    // no resource of a need is ever open or free for it
    Material,  // no store ever holds what it takes
    Blocked,   // places wait for each other
    Limits,    // its maximum lags cannot be met together
    Choice,    // same mode or same resource cannot be kept
};
/// Words for people: "would end after the horizon".
std::string words(Obstacle obstacle);

struct Failure {
    Obstacle why = Obstacle::None;
    core::OperationId operation = core::OperationId::none();
};

/// Structure of arrays over operations (chosen: CompiledOperation::chosen + need; stores:
/// CompiledTake::index). end[i] < 0 or work_end[i] < 0 only while a run is under way.
struct FlatSchedule {
    std::vector<Tick> start, work_end, end;
    std::vector<std::int16_t> mode;
    std::vector<std::int32_t> chosen;
    std::vector<std::int32_t> stores;
    std::vector<std::int32_t> batch;  // -1: none
    void reset(const CompiledProblem& p);
};

core::Schedule to_schedule(const CompiledProblem& p, const FlatSchedule& flat);
/// The way back. @pre one placement per operation.
FlatSchedule to_flat(const CompiledProblem& p, const core::Schedule& schedule);
/// One placement into its rows.
void put(const CompiledProblem& p, std::size_t operation, const core::Placement& placed,
         FlatSchedule& flat);

/// Work of one placed operation in overtime, s, summed over who does it; of who serves a batch only
/// what is beyond the other members among the first `known` operations.
std::int64_t overtime_of(const CompiledProblem& p, const FlatSchedule& flat, std::size_t operation,
                         std::size_t known);

/// When each order is complete; -never where none of its operations is there.
void completions(const CompiledProblem& p, const FlatSchedule& flat, std::vector<Tick>& completion);

/// When everything ends: what a criterion is counted from.
struct Ends {
    std::span<const Tick> orders;  // -never: without operations
    Tick last = 0;                 // of all operations
    std::int64_t overtime = 0;
    std::int64_t holding = 0;
};
std::int64_t worth(const CompiledProblem& p, core::Criterion criterion, const Ends& ends);

/// The objective as core::evaluate defines it, without allocation. @param parts one per criterion.
/// @param completion scratch, one per order.
void evaluate(const CompiledProblem& p, const FlatSchedule& flat, std::vector<Tick>& completion,
              std::vector<std::int64_t>& parts);

}  // namespace sched::engine
