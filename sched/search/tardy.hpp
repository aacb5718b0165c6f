#pragma once
// Shops with weighted tardiness: simulated annealing on the disjunctive graph.

#include "sched/search/shop_model.hpp"
#include "sched/search/watch.hpp"

namespace sched::search {

/// One start: a population of annealed solutions, crossed by relinking and annealed again from a
/// low temperature. Moves are swaps of neighbours on critical paths of tardy orders, and other
/// machines where there is a choice. One trial move is one evaluation. Stops at `bound`. @pre
/// shop.tardiness
ShopPlan search_shop_tardiness(const ShopModel& shop, std::int64_t bound, std::uint64_t seed,
                               int start, Watch& watch);

}  // namespace sched::search
