#pragma once
// From the right: a schedule built from its end backwards, everything as late as it goes. Read
// forwards again it is a better list (forward-backward improvement, Tormos and Lova 2001; double
// justification, Valls, Ballestín and Quintanilla 2005).

#include <vector>

#include "sched/engine/profile.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::search {

/// Works on any Problem with what a given schedule says of lengths, modes and places. Amounts,
/// capacities, calendars and minimum lags count; maximum lags, batches, stores and standing do not:
/// what comes out is a list for the decoder, not a schedule. Not thread-safe.
class BackwardPass {
public:
    explicit BackwardPass(const engine::CompiledProblem& problem);

    /// @param schedule lengths and choices. @param key per operation: the highest of those whose
    /// followers are placed goes next. @param latest per operation: its work ends no later.
    /// @returns start of each operation, as late as can be. Valid until the next call.
    const std::vector<engine::Tick>& run(const engine::FlatSchedule& schedule,
                                         const std::vector<double>& key,
                                         const std::vector<engine::Tick>& latest);

private:
    const engine::CompiledProblem& p_;
    std::vector<engine::Profile> profile_;  // time runs backwards: t stands at -t
    std::vector<engine::Tick> start_;
    std::vector<std::int32_t> waits_, heap_;
};

}  // namespace sched::search
