#include "sched/search/solve.hpp"

#include "sched/search/exact.hpp"
#include "sched/search/floor_search.hpp"
#include "sched/search/project.hpp"
#include "sched/search/shop_search.hpp"

namespace sched::search {

core::Solution solve(const core::Problem& problem, const SearchOptions& options) {
    core::Solution solution = solve_shop(problem, options);
    if (solution.status == core::Status::Unknown && !solution.interrupted)
        solution = solve_project(problem, options);
    if (solution.status == core::Status::Unknown && !solution.interrupted &&
        exact_supports(problem))
        solution = solve_exact(problem, options);
    if (solution.status == core::Status::Unknown && !solution.interrupted)
        solution = search_floor(problem, options);
    return solution;
}

}  // namespace sched::search
