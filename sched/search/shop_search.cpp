#include "sched/search/shop_search.hpp"

#include "sched/core/objective.hpp"
#include "sched/search/shop_elites.hpp"
#include "sched/search/shop_model.hpp"

namespace sched::search {

namespace {

struct ShopStart {
    ShopPlan plan;
    std::int64_t evaluations = 0;
};

}  // namespace

core::Solution solve_shop(const core::Problem& problem, const SearchOptions& options) {
    core::Solution solution;
    const auto shop = shop_of(problem);
    if (!shop || shop->tardiness) return solution;
    SharedWatch shared(options);
    const std::int64_t bound = shop_makespan_bound(*shop);
    const int starts = number_of_starts(options, 1'000'000);
    const auto results = run_starts<ShopStart>(shared, starts, [&](int start, Watch& watch) {
        ShopStart s;
        s.plan = search_shop_makespan(*shop, bound, options.seed, start, watch);
        s.evaluations = watch.evaluations();
        return s;
    });
    const ShopPlan* best = nullptr;
    for (const auto& r : results) {
        solution.evaluations += r.evaluations;
        if (r.plan.value >= 0 && (best == nullptr || r.plan.value < best->value)) best = &r.plan;
    }
    solution.bound.parts = {bound};
    solution.interrupted = shared.interrupted;
    if (best == nullptr) return solution;
    solution.schedule = shop_schedule(problem, *shop, *best);
    solution.value = core::evaluate(problem, *solution.schedule);
    solution.status =
        solution.value == solution.bound ? core::Status::Optimal : core::Status::Feasible;
    return solution;
}

}  // namespace sched::search
