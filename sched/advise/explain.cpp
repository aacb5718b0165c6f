#include "sched/advise/explain.hpp"

#include <algorithm>

#include "sched/advise/explain_link.hpp"
#include "sched/core/objective.hpp"

namespace sched::search {

using core::OperationId;
using core::OrderId;
using core::ResourceId;
using core::Seconds;
using core::SimTime;

namespace {

std::optional<OperationId> last_operation(const core::Problem& problem,
                                          const core::Schedule& schedule, OrderId order) {
    std::optional<OperationId> last;
    std::optional<SimTime> latest;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const auto job = problem.operations[i].job;
        if (!job.valid() || problem.jobs[job.index()].order != order) continue;
        const SimTime done = core::completion(problem.operations[i], schedule.placements[i]);
        if (!latest || done > *latest) {
            latest = done;
            last = OperationId{i};
        }
    }
    return last;
}

std::vector<ChainLink> chain_from(const LinkFinder& finder, std::size_t operations,
                                  std::optional<OperationId> op) {
    std::vector<ChainLink> chain;
    std::vector<bool> seen(operations, false);
    const auto fresh = [&](const std::optional<OperationId>& x) { return x && !seen[x->index()]; };
    while (fresh(op)) {
        seen[op->index()] = true;
        chain.push_back(finder.link(*op));
        // Places may be exchanged in one instant, each let go by the other: then the holder itself
        // goes on with the chain.
        const auto& because = chain.back().because;
        op = finder.let_go(chain.back());
        if (!fresh(op)) op = because;
    }
    return chain;
}

/// Seconds of [from, to) inside the calendar.
Seconds inside(const std::optional<core::Calendar>& calendar, SimTime from, SimTime to) {
    if (!calendar) return std::max(Seconds{0}, to - from);
    Seconds sum{0};
    for (const auto& w : *calendar)
        sum += std::max(Seconds{0}, std::min(w.to, to) - std::max(w.from, from));
    return sum;
}

}  // namespace

std::vector<ChainLink> chain_of(const core::Problem& problem, const core::Schedule& schedule,
                                OrderId order) {
    const LinkFinder finder(problem, schedule);
    return chain_from(finder, problem.operations.size(), last_operation(problem, schedule, order));
}

std::vector<ResourceUse> resource_use(const core::Problem& problem,
                                      const core::Schedule& schedule) {
    std::vector<ResourceUse> all(problem.resources.size());
    for (std::size_t r = 0; r < all.size(); ++r)
        all[r].resource = ResourceId{r};
    if (problem.operations.empty()) return all;

    const LinkFinder finder(problem, schedule);
    SimTime first = schedule.placements.front().start;
    SimTime last = schedule.placements.front().end;
    for (const auto& p : schedule.placements) {
        first = std::min(first, p.start);
        last = std::max(last, p.end);
    }
    for (std::size_t r = 0; r < all.size(); ++r) {
        const auto& resource = problem.resources[r];
        Seconds open = last - first;
        if (resource.calendar) {
            open = Seconds{0};
            for (const auto& w : *resource.calendar) {
                if (w.from < last && w.to > first) open += w.to - w.from;
            }
        }
        all[r].staffed = open * resource.capacity;
        for (const auto& use : finder.uses(ResourceId{r})) {
            all[r].working +=
                inside(resource.calendar, use.from, std::min(use.work_end, use.to)) * use.amount;
            all[r].holding += inside(resource.calendar, use.work_end, use.to) * use.amount;
        }
    }
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const ChainLink link = finder.link(OperationId{i});
        if (link.resource) all[link.resource->index()].waited_for += link.waited;
    }
    const auto done = core::completions(problem, schedule);
    for (std::size_t o = 0; o < done.size(); ++o) {
        if (!done[o] || !problem.orders[o].due || *done[o] <= *problem.orders[o].due) continue;
        const auto last_op = last_operation(problem, schedule, OrderId{o});
        for (const ChainLink& link : chain_from(finder, problem.operations.size(), last_op)) {
            if (link.resource) ++all[link.resource->index()].on_late_chains;
        }
    }
    return all;
}

}  // namespace sched::search
