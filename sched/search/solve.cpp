#include "sched/search/solve.hpp"

#include "sched/search/shop_search.hpp"

namespace sched::search {

core::Solution solve(const core::Problem& problem, const SearchOptions& options) {
    return solve_shop(problem, options);
}

}  // namespace sched::search
