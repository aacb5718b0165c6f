#pragma once
// Can everybody who holds a place still come out? The test that keeps full cabinet and full rack
// from waiting for each other for ever; used by the decoder before it books.

#include <cstdint>
#include <vector>

#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// What the blocks of a job that are not booked hold, as bits over CompiledProblem::exits.
std::uint64_t exits_ahead(const CompiledProblem& problem, std::int32_t job,
                          const std::vector<char>& booked);

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
        std::int32_t operation = 0;
        bool before(const Holder& o) const {
            return job < o.job || (job == o.job && resource < o.resource);
        }
    };
    /// Fill these, then ask.
    std::vector<std::int32_t> free;  // per resource: units nobody holds
    std::vector<Holder> holders;     // those of one job side by side

    /// Before a booking: whole blocks are booked or not, and the rest of the way is free to choose.
    /// @param booked per operation: not 0 if its block is booked.
    /// @param wanted per job: what the rest of its way holds, as exits_ahead says.
    bool safe_booked(const CompiledProblem& problem, const std::vector<char>& booked,
                     const std::vector<std::uint64_t>& wanted);

private:
    bool leaves(const CompiledProblem& problem, const std::vector<char>& booked, std::size_t first,
                std::size_t last) const;
    bool leaves_by_kind(const CompiledProblem& problem, const std::vector<char>& booked,
                        const std::vector<std::uint64_t>& wanted, std::size_t first,
                        std::size_t last);
    bool found(const CompiledProblem& problem, const Exit& exit, std::size_t first,
               std::size_t last) const;
    /// A state on the way out: how far the jobs inside are, and what they hold there.
    struct Floor {
        std::vector<std::int32_t> free;
        std::vector<Holder> holders;
        std::vector<char> booked;
    };
    bool step_by_step(const CompiledProblem& problem, const Floor& floor);
    bool take_next_step(const CompiledProblem& problem, std::size_t first, std::size_t last,
                        Floor& floor) const;
    void let_out(const CompiledProblem& problem, Floor& floor);
    std::vector<std::vector<std::int32_t>> seen_;  // how far each job inside was, on the way
    std::uint64_t open_ = 0;                       // exits for which what nobody holds is enough
    std::vector<std::size_t> starts_;              // first holder of each job that is still inside
};

}  // namespace sched::engine
