#pragma once
// Hybrid flow shops with makespan: iterated greedy over one list of jobs, from either end.

#include "sched/search/shop_model.hpp"
#include "sched/search/watch.hpp"

namespace sched::search {

/// Start per job and stage [s], jobs x stages, and the makespan.
struct FlowPlan {
    std::int64_t value = -1;
    std::vector<int> start;
};

/// One start of the iterated greedy (Ruiz & Stützle 2007) over the order at the first stage; later
/// stages take jobs as they arrive. Also searched on the mirrored problem, from the last stage
/// back. One decoded list is one evaluation. Stops at `bound`.
FlowPlan search_flow(const FlowModel& flow, std::int64_t bound, std::uint64_t seed, int start,
                     Watch& watch);

}  // namespace sched::search
