// How it works: the value is counted from the definitions, criterion by criterion, out of the
// completions of the orders and the placements; all that is words about a criterion is one
// table. Engine and bounds count in their own way and are tested against this one.

#include "sched/core/objective.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <map>
#include <utility>

#include "sched/core/calendar.hpp"

namespace sched::core {

namespace {

// One person minds a whole batch: her time counts once, as long as the longest member works.
std::int64_t overtime_seconds(const Problem& problem, const Schedule& schedule) {
    std::int64_t total = 0;
    std::map<std::pair<int, ResourceId>, std::int64_t> shared;  // by batch
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const Placement& p = schedule.placements[i];
        const Mode& mode = problem.operations[i].modes[static_cast<std::size_t>(p.mode)];
        for (std::size_t n = 0; n < mode.needs.size(); ++n) {
            if (mode.needs[n].span != Span::Work) continue;
            std::int64_t seconds = 0;
            for (const auto& o : problem.overtime) {
                if (o.resource == p.chosen[n])
                    seconds += overlap(p.start, p.work_end, o.window).count();
            }
            const Resource& resource = problem.resources[p.chosen[n].index()];
            if (p.batch && (resource.batch || resource.capacity == 1)) {
                auto& longest = shared[{*p.batch, p.chosen[n]}];
                longest = std::max(longest, seconds);
            } else {
                total += seconds;
            }
        }
    }
    for (const auto& [batch, seconds] : shared)
        total += seconds;
    return total;
}

}  // namespace

SimTime completion(const Operation& operation, const Placement& placement) {
    return operation.max_stretch ? placement.end : placement.work_end;
}

std::vector<std::optional<SimTime>> completions(const Problem& problem, const Schedule& schedule) {
    std::vector<std::optional<SimTime>> done(problem.orders.size());
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const JobId job = problem.operations[i].job;
        if (!job.valid()) continue;
        const OrderId order = problem.jobs[job.index()].order;
        if (!order.valid()) continue;
        const SimTime c = completion(problem.operations[i], schedule.placements[i]);
        auto& slot = done[order.index()];
        slot = slot ? std::max(*slot, c) : c;
    }
    return done;
}

Value evaluate(const Problem& problem, const Schedule& schedule) {
    assert(schedule.placements.size() == problem.operations.size());
    const auto done = completions(problem, schedule);
    Value value;
    for (const Criterion criterion : problem.objective) {
        std::int64_t v = 0;
        switch (criterion) {
            case Criterion::WeightedTardiness:
                for (std::size_t o = 0; o < done.size(); ++o) {
                    const auto& order = problem.orders[o];
                    if (done[o] && order.due && *done[o] > *order.due)
                        v += order.weight * (*done[o] - *order.due).count();
                }
                break;
            case Criterion::LateOrders:
                for (std::size_t o = 0; o < done.size(); ++o) {
                    if (done[o] && problem.orders[o].due && *done[o] > *problem.orders[o].due) ++v;
                }
                break;
            case Criterion::Overtime:
                v = overtime_seconds(problem, schedule);
                break;
            case Criterion::Makespan:
                for (std::size_t i = 0; i < problem.operations.size(); ++i) {
                    if (problem.operations[i].filler) continue;
                    v = std::max(v, (completion(problem.operations[i], schedule.placements[i]) -
                                     problem.horizon_start)
                                        .count());
                }
                break;
            case Criterion::Holding:
                for (std::size_t i = 0; i < problem.operations.size(); ++i) {
                    const auto& p = schedule.placements[i];
                    if (!problem.operations[i].filler) v += (p.end - p.work_end).count();
                }
                break;
            case Criterion::FlowTime:
                for (std::size_t o = 0; o < done.size(); ++o) {
                    if (done[o]) v += (*done[o] - problem.orders[o].release).count();
                }
                break;
        }
        value.parts.push_back(v);
    }
    return value;
}

namespace {

constexpr std::array<CriterionRow, 6> rows{{
    {Criterion::WeightedTardiness, "priority-weighted lateness", "weighted-tardiness", false, true,
     "could be up to {} lower", "saves {} of lateness (weighted)", true},
    {Criterion::LateOrders, "late orders", "late-orders", true, true, "could be up to {} fewer",
     "{} fewer late", true},
    {Criterion::Overtime, "overtime", "overtime", false, true, "could be up to {} lower",
     "saves {} of overtime", true},
    {Criterion::Makespan, "finish", "makespan", false, false, "could be up to {} earlier",
     "the run ends {} sooner", true},
    {Criterion::Holding, "holding", "holding", false, false, "could be up to {} lower",
     "saves {} of standing about", false},
    {Criterion::FlowTime, "flow time", "flow-time", false, false, "could be up to {} lower",
     "saves {} of passage, all orders added", false},
}};
constexpr bool in_order() {
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (static_cast<std::size_t>(rows[i].criterion) != i) return false;
    }
    return true;
}
static_assert(in_order());

}  // namespace

std::span<const CriterionRow> criteria() {
    return rows;
}

const CriterionRow& row_of(Criterion criterion) {
    return rows[static_cast<std::size_t>(criterion)];
}

std::string words(Criterion criterion) {
    return std::string(row_of(criterion).words);
}

std::string amount_words(Criterion criterion, std::int64_t amount) {
    if (!row_of(criterion).in_orders) return model::format_duration(Seconds{amount});
    return std::to_string(amount) + (amount == 1 ? " order" : " orders");
}

}  // namespace sched::core
