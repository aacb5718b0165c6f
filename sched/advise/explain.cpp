// How it works: a chain is a walk from link to link (explain_link.cpp), each asked of whoever
// held the one before, till nobody is left. Shares of time are sums of the uses of a resource
// inside the windows in which it is paid or the room is staffed.

#include "sched/advise/explain.hpp"

#include <algorithm>

#include "sched/advise/chains.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/objective.hpp"

namespace sched::search {

using core::OperationId;
using core::OrderId;
using core::ResourceId;
using core::Seconds;
using core::SimTime;

namespace {

core::Window run_of(const core::Schedule& schedule) {
    core::Window run{schedule.placements.front().start, schedule.placements.front().end};
    for (const auto& p : schedule.placements) {
        run.from = std::min(run.from, p.start);
        run.to = std::max(run.to, p.end);
    }
    return run;
}

bool takes(const core::Placement& p, ResourceId r) {
    return std::find(p.chosen.begin(), p.chosen.end(), r) != p.chosen.end();
}

}  // namespace

core::Calendar paid_time(const core::Problem& problem, const core::Schedule& schedule,
                         ResourceId resource) {
    if (schedule.placements.empty()) return {};
    const core::Window run = run_of(schedule);
    const auto& calendar = problem.resources[resource.index()].calendar;
    if (!calendar) return {run};
    const auto day = std::chrono::floor<std::chrono::days>(run.from.time_since_epoch());
    const SimTime next_day{Seconds{day + std::chrono::days{1}}};
    core::Calendar there;
    for (const core::Window& w : *calendar) {
        if (w.to <= run.from || w.from >= run.to) continue;
        there.push_back({w.from, w.from < next_day ? w.to : std::min(w.to, run.to)});
    }
    for (const core::OvertimeWindow& o : problem.overtime) {
        if (o.resource == resource) core::close_window(there, o.window);
    }
    for (const core::OvertimeWindow& o : problem.overtime) {
        if (o.resource != resource) continue;
        for (const auto& p : schedule.placements) {
            if (takes(p, resource))
                core::open_window(there,
                                  {std::max(p.start, o.window.from), std::min(p.end, o.window.to)});
        }
    }
    // What is worked outside the windows (pausing, or begun before the plan) is no time there.
    return core::common(there, *calendar);
}

core::Calendar staffed_time(const core::Problem& problem, const core::Schedule& schedule,
                            const std::vector<ResourceId>& people) {
    core::Calendar all;
    for (const ResourceId r : people) {
        for (const core::Window& w : paid_time(problem, schedule, r))
            core::open_window(all, w);
    }
    return all;
}

std::vector<ChainLink> chain_of(const core::Problem& problem, const core::Schedule& schedule,
                                OrderId order) {
    return Chains(problem, schedule).of(order);
}

std::vector<ResourceUse> resource_use(const core::Problem& problem, const core::Schedule& schedule,
                                      const core::Calendar& room) {
    std::vector<ResourceUse> all(problem.resources.size());
    for (std::size_t r = 0; r < all.size(); ++r)
        all[r].resource = ResourceId{r};
    if (problem.operations.empty()) return all;

    const LinkFinder finder(problem, schedule);
    for (std::size_t r = 0; r < all.size(); ++r) {
        const auto& resource = problem.resources[r];
        core::Calendar there = paid_time(problem, schedule, ResourceId{r});
        // Also of a place that is closed for an hour: open at night with nobody there is not there.
        if (!room.empty()) there = resource.calendar ? core::common(there, room) : room;
        for (const core::Window& w : there)
            all[r].staffed += (w.to - w.from) * resource.capacity;
        for (const auto& use : finder.uses(ResourceId{r})) {
            all[r].working +=
                core::overlap(use.from, std::min(use.work_end, use.to), there) * use.amount;
            all[r].holding += core::overlap(use.work_end, use.to, there) * use.amount;
        }
    }
    return all;
}

std::vector<ResourceUse> resource_waits(const core::Problem& problem,
                                        const core::Schedule& schedule) {
    std::vector<ResourceUse> all = resource_use(problem, schedule);
    if (problem.operations.empty()) return all;

    const Chains chains(problem, schedule);
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const ChainLink& link = chains.link(OperationId{i});
        if (link.resource) all[link.resource->index()].waited_for += link.waited;
    }
    const auto done = core::completions(problem, schedule);
    for (std::size_t o = 0; o < done.size(); ++o) {
        if (!done[o] || !problem.orders[o].due || *done[o] <= *problem.orders[o].due) continue;
        for (const ChainLink& link : chains.of(OrderId{o})) {
            if (link.resource) ++all[link.resource->index()].on_late_chains;
        }
    }
    return all;
}

}  // namespace sched::search
