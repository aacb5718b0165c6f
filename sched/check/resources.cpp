// What each resource is asked for at each moment: capacity by a sweep, calendars, and the time to
// come from place to place.

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "sched/check/case.hpp"

namespace sched::check {

using core::ResourceId;
using core::SimTime;
using core::Span;

namespace {

/// `amount` units of one resource from `from` to `to`, for an operation or a batch.
struct Use {
    SimTime from;
    SimTime to;
    int amount;
    std::size_t operation;
};

SimTime need_end(const core::Need& need, const core::Placement& p) {
    return need.span == Span::Whole ? p.end : p.work_end;
}

std::vector<std::vector<Use>> uses_per_resource(const Case& c) {
    std::vector<std::vector<Use>> uses(c.problem.resources.size());
    std::map<std::pair<int, std::size_t>, std::size_t>
        of_batch;  // (batch, resource) -> position in uses
    for (std::size_t i = 0; i < c.size(); ++i) {
        if (!c.sound[i]) continue;
        const auto& p = c.placement(i);
        const auto& needs = c.mode(i).needs;
        for (std::size_t n = 0; n < needs.size(); ++n) {
            // What has begun counts from the moment of the plan on.
            const Use use{.from = c.has_begun(i) ? std::max(p.start, *c.problem.now) : p.start,
                          .to = need_end(needs[n], p),
                          .amount = needs[n].amount,
                          .operation = i};
            if (use.from >= use.to) continue;
            const std::size_t r = p.chosen[n].index();
            const auto& resource = c.problem.resources[r];
            if (p.batch && (resource.batch || resource.capacity == 1)) {
                const auto [at, fresh] = of_batch.try_emplace({*p.batch, r}, uses[r].size());
                if (!fresh) {
                    Use& shared = uses[r][at->second];
                    shared.from = std::min(shared.from, use.from);
                    shared.to = std::max(shared.to, use.to);
                    shared.amount = std::max(shared.amount, use.amount);
                    continue;
                }
            }
            uses[r].push_back(use);
        }
    }
    return uses;
}

}  // namespace

void check_capacity(Case& c) {
    const auto uses = uses_per_resource(c);
    for (std::size_t r = 0; r < uses.size(); ++r) {
        const auto& resource = c.problem.resources[r];
        std::vector<std::size_t> by_start(uses[r].size());
        for (std::size_t k = 0; k < by_start.size(); ++k)
            by_start[k] = k;
        std::stable_sort(by_start.begin(), by_start.end(), [&](std::size_t a, std::size_t b) {
            return uses[r][a].from < uses[r][b].from;
        });
        std::vector<std::size_t> inside;
        for (const std::size_t k : by_start) {
            const Use& use = uses[r][k];
            std::erase_if(inside, [&](std::size_t other) { return uses[r][other].to <= use.from; });
            long long load = use.amount;
            for (const std::size_t other : inside)
                load += uses[r][other].amount;
            const bool all_begun = c.has_begun(use.operation) &&
                                   std::all_of(inside.begin(), inside.end(), [&](std::size_t x) {
                                       return c.has_begun(uses[r][x].operation);
                                   });
            if (load > resource.capacity && !all_begun) {
                const std::size_t i = use.operation;
                auto& v =
                    c.say(Rule::Capacity, i,
                          fmt::format("{} is asked for {} of its {} at {}, when {} starts",
                                      resource.name, load, resource.capacity,
                                      model::format_date_time(use.from), c.operation(i).name));
                v.resource = ResourceId{r};
                v.at = use.from;
                if (!inside.empty()) {
                    v.other = core::OperationId{uses[r][inside.back()].operation};
                    v.words += fmt::format(" and {} is still there", c.name(*v.other));
                }
            }
            inside.push_back(k);
        }
    }
}

void check_calendars(Case& c) {
    for (std::size_t i = 0; i < c.size(); ++i) {
        if (!c.sound[i] || c.has_begun(i)) continue;
        const auto& o = c.operation(i);
        const auto& p = c.placement(i);
        const auto& needs = c.mode(i).needs;
        for (std::size_t n = 0; n < needs.size(); ++n) {
            const auto& resource = c.resource(p.chosen[n]);
            const SimTime to = need_end(needs[n], p);
            if (!resource.calendar || p.start >= to) continue;
            bool kept = false;
            for (const auto& w : *resource.calendar) {
                // A pausable operation need only start inside a window; its length is judged
                // elsewhere.
                const SimTime until = o.pausable ? p.start + core::Seconds{1} : to;
                if (w.from <= p.start && until <= w.to) kept = true;
            }
            if (kept) continue;
            auto& v = c.say(
                Rule::Calendar, i,
                o.pausable ? fmt::format("{} starts at {}, when {} is not there", o.name,
                                         model::format_date_time(p.start), resource.name)
                           : fmt::format("{} needs {} from {} to {}, which no window covers",
                                         o.name, resource.name, model::format_date_time(p.start),
                                         model::format_date_time(to)));
            v.resource = p.chosen[n];
            v.at = p.start;
        }
    }
}

void check_walks(Case& c) {
    const auto place = [&](std::size_t i) -> std::optional<ResourceId> {
        const auto& needs = c.mode(i).needs;
        if (needs.empty() || needs.front().span != Span::Whole) return std::nullopt;
        const ResourceId at = c.placement(i).chosen.front();
        return c.resource(at).beside.value_or(at);
    };
    for (std::size_t r = 0; r < c.problem.resources.size(); ++r) {
        const core::Resource& resource = c.problem.resources[r];
        if (resource.walk.count() == 0) continue;
        std::vector<std::size_t> work;
        for (std::size_t i = 0; i < c.size(); ++i) {
            if (!c.sound[i] || c.placement(i).start == c.placement(i).work_end) continue;
            const auto& needs = c.mode(i).needs;
            for (std::size_t n = 0; n < needs.size(); ++n) {
                if (needs[n].span == Span::Work && c.placement(i).chosen[n].index() == r)
                    work.push_back(i);
            }
        }
        std::stable_sort(work.begin(), work.end(), [&](std::size_t a, std::size_t b) {
            return c.placement(a).start < c.placement(b).start;
        });
        for (std::size_t k = 1; k < work.size(); ++k) {
            const auto& before = c.placement(work[k - 1]);
            const auto& after = c.placement(work[k]);
            const auto from = place(work[k - 1]), to = place(work[k]);
            if (!from || !to || from == to || c.has_begun(work[k - 1])) continue;
            const bool stays =
                !resource.calendar ||
                std::any_of(resource.calendar->begin(), resource.calendar->end(),
                            [&](const core::Window& w) {
                                return w.from <= before.work_end && after.start <= w.to;
                            });
            if (!stays || after.start - before.work_end >= resource.walk) continue;
            auto& v =
                c.say(Rule::Walk, work[k],
                      fmt::format("{} starts at {}, and {} is at {} until {}, {} s away",
                                  c.operation(work[k]).name, model::format_date_time(after.start),
                                  resource.name, c.resource(*from).name,
                                  model::format_date_time(before.work_end), resource.walk.count()));
            v.resource = ResourceId{r};
            v.other = core::OperationId{work[k - 1]};
            v.at = after.start;
        }
    }
}

}  // namespace sched::check
