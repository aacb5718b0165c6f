#pragma once
// Whoever has work with a fixed start to come is kept free for it.

#include <cstdint>
#include <vector>

#include "sched/engine/decode/run.hpp"

namespace sched::engine {

class Appointments {
public:
    explicit Appointments(Run& run) : problem_(run.problem), state_(run.state), plan_(run.plan) {}

    /// At the beginning of a run.
    void keep_all();
    /// The block is not booked any more.
    void keep_for(std::int32_t block);
    /// The block is about to be booked and keeps its own appointments itself.
    void free_for(std::int32_t block);
    /// It was not booked. @pre free_for() was called for it last.
    void keep_as_before(std::int32_t block);

private:
    void keep(std::size_t appointment, bool kept);

    const CompiledProblem& problem_;
    Timelines& state_;
    const Following& plan_;
    std::vector<char> before_;  // scratch: Timelines::kept_free of one block
};

}  // namespace sched::engine
