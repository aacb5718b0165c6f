#pragma once
// Tabu search with path relinking for shops with makespan.

#include "sched/search/shop_model.hpp"
#include "sched/search/watch.hpp"

namespace sched::search {

/// One start: a population of tabu-searched solutions, crossed by relinking until the watch ends it
/// (after the idea of Peng, Lü & Cheng 2015). Stops at `bound`.
ShopPlan search_shop_makespan(const ShopModel& shop, std::int64_t bound, std::uint64_t seed,
                              int start, Watch& watch);

}  // namespace sched::search
