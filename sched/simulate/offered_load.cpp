#include "sched/simulate/offered_load.hpp"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "sched/core/calendar.hpp"
#include "sched/core/index.hpp"

namespace sched::study {

namespace {

using Group = std::set<std::int32_t>;  // resources that can do the same

constexpr double seconds_a_week = 7.0 * 86'400.0;

/// Who may do it, and how long that takes of one of them at least.
struct Asked {
    Group group;
    double seconds = 0.0;
};

// Stations and people are asked apart: most steps need one of each.
std::optional<Asked> asked_of(const compile::RoomProblem& room, const core::Operation& o,
                              compile::ResourceKind kind) {
    Asked asked;
    double least = -1.0;
    int members = 1;  // of a batch: they count once
    for (const core::Mode& mode : o.modes) {
        double of_mode = 0.0;
        for (const core::Need& need : mode.needs) {
            for (const core::ResourceId id : need.any_of) {
                const auto& batch = room.problem.resources[id.index()].batch;
                if (batch && o.batch) members = std::max(members, batch->max_members);
                if (room.resources[id.index()].kind == kind) asked.group.insert(id.value);
            }
            const bool ours =
                !need.any_of.empty() && room.resources[need.any_of.front().index()].kind == kind;
            if (ours) of_mode += need.amount * static_cast<double>(mode.work.count());
        }
        least = least < 0.0 ? of_mode : std::min(least, of_mode);
    }
    if (asked.group.empty() || least <= 0.0) return std::nullopt;
    asked.seconds = least / members;
    return asked;
}

double open_seconds(const compile::RoomProblem& room, std::int32_t resource) {
    const core::Resource& r = room.problem.resources[ix(resource)];
    double open = seconds_a_week;
    if (r.calendar) {
        const auto from = room.problem.horizon_start;
        const auto to = from + std::chrono::days{7};
        open = 0.0;
        for (const core::Window& w : *r.calendar) {
            const auto part = std::min(w.to, to) - std::max(w.from, from);
            open += static_cast<double>(std::max<std::int64_t>(0, part.count()));
        }
    }
    return open * r.capacity;
}

}  // namespace

OfferedLoad offered_load(const compile::RoomProblem& room, const ArrivalProcess& arrivals,
                         int working_days) {
    OfferedLoad out;
    double a_week = 0.0;
    int days = 0;
    for (std::size_t d = 0; d < 7; ++d) {
        double orders =
            std::accumulate(arrivals.per_hour[d].begin(), arrivals.per_hour[d].end(), 0.0);
        for (const auto& day : arrivals.history[d])
            orders +=
                static_cast<double>(day.size()) / static_cast<double>(arrivals.history[d].size());
        a_week += orders;
        days += orders > 0.0 ? 1 : 0;
    }
    if (days == 0) return out;
    out.orders_a_day = a_week / (working_days > 0 ? working_days : days);
    const auto& weight = arrivals.kind_weight;
    const double all = std::accumulate(weight.begin(), weight.end(), 0.0);
    std::map<Group, double> work;  // seconds a week, by who alone can do it
    for (const core::Operation& o : room.problem.operations) {
        if (!o.job.valid() || o.filler) continue;
        const core::OrderId order = room.problem.jobs[o.job.index()].order;
        if (!order.valid() || order.index() >= weight.size()) continue;
        for (const auto kind : {compile::ResourceKind::Station, compile::ResourceKind::Person}) {
            if (const auto asked = asked_of(room, o, kind))
                work[asked->group] += a_week * weight[order.index()] / all * asked->seconds;
        }
    }
    for (const auto& [group, own] : work) {
        double load = 0.0;
        for (const auto& [other, seconds] : work) {
            if (std::includes(group.begin(), group.end(), other.begin(), other.end()))
                load += seconds;
        }
        double open = 0.0;
        std::string names;
        for (const std::int32_t r : group) {
            open += open_seconds(room, r);
            names += (names.empty() ? "" : ", ") + room.problem.resources[ix(r)].name;
        }
        const double share = open > 0.0 ? load / open : 0.0;
        if (share <= out.share) continue;
        out.share = share;
        out.who = names;
    }
    return out;
}

}  // namespace sched::study
