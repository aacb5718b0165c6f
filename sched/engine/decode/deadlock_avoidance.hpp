#pragma once
// Can everybody who holds a place still come out? The test that keeps full cabinet and full rack
// from waiting for each other for ever; used by the decoder before it books and by the executor
// before somebody passes.

#include <cstdint>
#include <vector>

#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// The banker's test (Dijkstra 1965, Cooperating sequential processes): the state is safe if the
/// jobs inside can leave one after the other, each walking the rest of its way while all others
/// stand still. From a safe state some job can always take its next step and leave the state safe;
/// so nobody waits for ever.
class DeadlockAvoidance {
public:
    struct Holder {
        std::int32_t job = 0;
        std::int32_t resource = 0;
        std::int32_t amount = 0;
    };
    /// Fill these, then ask.
    std::vector<std::int32_t> free;  // per resource: units nobody holds
    std::vector<Holder> holders;     // those of one job side by side

    /// Before a booking: whole blocks are booked or not, and the rest of the way is free to choose.
    /// @param booked per operation: not 0 if its block is booked.
    bool safe_booked(const CompiledProblem& problem, const std::vector<char>& booked);

    /// @param ahead per operation: not 0 if it has begun or is booked, so its job has passed it.
    /// @param plan the rest of the way uses its modes and places; null: any that the operations
    /// allow.
    bool safe(const CompiledProblem& problem, const std::vector<char>& ahead,
              const FlatSchedule* plan = nullptr);

private:
    template <class Leaves>
    bool all_leave(Leaves leaves);
    bool leaves(const CompiledProblem& problem, const std::vector<char>& ahead,
                const FlatSchedule* plan, std::size_t first, std::size_t last) const;
    bool leaves_by_kind(const CompiledProblem& problem, const std::vector<char>& booked,
                        std::size_t first, std::size_t last);
    bool found(const CompiledProblem& problem, const Exit& exit, std::size_t first,
               std::size_t last) const;
    std::uint64_t open_ = 0;           // exits for which what nobody holds is enough
    std::vector<std::size_t> starts_;  // first holder of each job that is still inside
};

}  // namespace sched::engine
