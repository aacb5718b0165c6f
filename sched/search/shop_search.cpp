#include "sched/search/shop_search.hpp"

#include <algorithm>

#include "sched/core/objective.hpp"
#include "sched/search/bounds.hpp"
#include "sched/search/flow.hpp"
#include "sched/search/shop_elites.hpp"
#include "sched/search/shop_model.hpp"
#include "sched/search/tardy.hpp"

namespace sched::search {

namespace {

// The general bounds cost more than they tell on larger shops.
constexpr std::size_t kBoundedOperations = 5000;

struct ShopStart {
    ShopPlan plan;
    std::int64_t evaluations = 0;
};

/// The best of the starts in their order, as a Solution.
core::Solution best_shop_start(const core::Problem& problem, const ShopModel& shop,
                               const std::vector<ShopStart>& starts, std::int64_t bound,
                               bool interrupted) {
    core::Solution solution;
    const ShopPlan* best = nullptr;
    for (const auto& s : starts) {
        solution.evaluations += s.evaluations;
        if (s.plan.value >= 0 && (best == nullptr || s.plan.value < best->value)) best = &s.plan;
    }
    solution.bound.parts = {bound};
    solution.interrupted = interrupted;
    if (best == nullptr) return solution;
    solution.schedule = shop_schedule(problem, shop, *best);
    solution.value = core::evaluate(problem, *solution.schedule);
    solution.status =
        solution.value == solution.bound ? core::Status::Optimal : core::Status::Feasible;
    return solution;
}

/// The operations' first alternative stands for any machine of the stage.
ShopPlan flow_as_shop(const FlowModel& flow, const ShopModel& shop, const FlowPlan& plan) {
    ShopPlan out{.value = plan.value, .start = {}, .alternative = shop.first_alternative};
    out.alternative.pop_back();
    out.start.assign(out.alternative.size(), 0);
    for (std::size_t k = 0; k < plan.start.size(); ++k) {
        out.start[static_cast<std::size_t>(flow.operation[k])] = plan.start[k];
    }
    return out;
}

}  // namespace

core::Solution solve_shop(const core::Problem& problem, const SearchOptions& options) {
    const auto shop = shop_of(problem);
    if (!shop) return {};
    SharedWatch shared(options);
    std::int64_t bound = shop->tardiness ? shop_tardiness_bound(*shop) : shop_makespan_bound(*shop);
    const auto flow = shop->choice && !shop->tardiness ? flow_of(problem) : std::nullopt;
    if (flow) bound = std::max(bound, flow_makespan_bound(*flow));
    if (problem.operations.size() <= kBoundedOperations)
        bound = std::max(bound, lower_bounds(problem).parts[0]);
    const int starts = number_of_starts(options, 1'000'000);
    const auto results = run_starts<ShopStart>(shared, starts, [&](int start, Watch& watch) {
        ShopStart s;
        if (shop->tardiness) {
            s.plan = search_shop_tardiness(*shop, bound, options.seed, start, watch);
        } else if (flow) {
            s.plan =
                flow_as_shop(*flow, *shop, search_flow(*flow, bound, options.seed, start, watch));
        } else {
            s.plan = search_shop_makespan(*shop, bound, options.seed, start, watch);
        }
        s.evaluations = watch.evaluations();
        return s;
    });
    return best_shop_start(problem, *shop, results, bound, shared.interrupted);
}

}  // namespace sched::search
