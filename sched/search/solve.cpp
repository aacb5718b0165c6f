#include "sched/search/solve.hpp"

#include <algorithm>
#include <chrono>

#include "sched/search/exact/exact.hpp"
#include "sched/search/room/room_search.hpp"

namespace sched::search {

namespace {

// Beyond this the exact search proves nothing in a plan's time, and the floor search needs it all.
constexpr std::size_t kExactOperations = 500;

// A room without drying clocks: a good plan first, then its proof or a better one.
core::Solution solve_small_room(const core::Problem& problem, const SearchOptions& options) {
    const auto begin = std::chrono::steady_clock::now();
    SearchOptions first = options;
    if (options.budget.evaluations)
        first.budget.evaluations =
            std::clamp<std::int64_t>(*options.budget.evaluations / 5, 1, 2000);
    if (options.budget.seconds) first.budget.seconds = 0.1 * *options.budget.seconds;
    if (!options.budget.evaluations && !options.budget.seconds) first.budget.evaluations = 2000;
    core::Solution floor = search_room(problem, first);
    if (floor.status == core::Status::Optimal || floor.interrupted) return floor;
    SearchOptions rest = options;
    if (options.budget.evaluations)
        rest.budget.evaluations =
            std::max<std::int64_t>(1, *options.budget.evaluations - floor.evaluations);
    if (options.budget.seconds) {
        const std::chrono::duration<double> used = std::chrono::steady_clock::now() - begin;
        rest.budget.seconds = std::max(0.01, *options.budget.seconds - used.count());
    }
    core::Solution exact = solve_exact(problem, rest, floor.schedule ? &*floor.schedule : nullptr);
    exact.evaluations += floor.evaluations;
    for (std::size_t k = 0; k < std::min(exact.bound.parts.size(), floor.bound.parts.size()); ++k)
        exact.bound.parts[k] = std::max(exact.bound.parts[k], floor.bound.parts[k]);
    return exact;
}

core::Solution by_structure(const core::Problem& problem, const SearchOptions& options) {
    if (problem.now || !exact_supports(problem)) return search_room(problem, options);
    if (problem.operations.size() > kExactOperations) return search_room(problem, options);
    core::Solution solution = solve_small_room(problem, options);
    if (solution.status == core::Status::Unknown) solution = search_room(problem, options);
    return solution;
}

}  // namespace

core::Solution solve(const core::Problem& problem, const SearchOptions& options) {
    core::Solution solution = by_structure(problem, options);
    solution.interrupted = options.stop && options.stop();
    return solution;
}

}  // namespace sched::search
