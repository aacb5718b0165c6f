#include "sched/search/shop_model.hpp"

#include <algorithm>
#include <numeric>
#include <queue>
#include <tuple>
#include <utility>

namespace sched::search {

namespace {

using core::Problem;

constexpr std::int64_t kLargestTime = std::int64_t{1} << 30;

/// Chains of operations and earliest starts, if the constraints say no more than that.
bool read_chains(const Problem& p, ShopModel& shop) {
    const int n = static_cast<int>(p.operations.size());
    shop.operations = n;
    shop.before.assign(p.operations.size(), n);
    shop.after.assign(p.operations.size(), n);
    shop.base.assign(p.operations.size(), 0);
    for (const auto& c : p.constraints) {
        if (const auto* lag = std::get_if<core::TimeLag>(&c)) {
            if (lag->edge == core::Edge::Start || lag->min.count() != 0 || lag->max) return false;
            const auto from = lag->from.index();
            const auto to = lag->to.index();
            if (from == to || shop.after[from] != n || shop.before[to] != n) return false;
            shop.after[from] = static_cast<int>(to);
            shop.before[to] = static_cast<int>(from);
        } else if (const auto* w = std::get_if<core::StartWindow>(&c)) {
            if (w->not_after) return false;
            if (!w->not_before) continue;
            const std::int64_t at = (*w->not_before - p.horizon_start).count();
            if (at >= kLargestTime) return false;
            int& base = shop.base[w->operation.index()];
            base = std::max(base, static_cast<int>(std::max<std::int64_t>(0, at)));
        } else {
            return false;
        }
    }
    for (int o = 0; o < n; ++o) {
        if (shop.before[static_cast<std::size_t>(o)] != n) continue;
        for (int k = o; k != n; k = shop.after[static_cast<std::size_t>(k)]) {
            shop.chain_order.push_back(k);
            if (shop.after[static_cast<std::size_t>(k)] == n) shop.lasts.push_back(k);
        }
    }
    if (static_cast<int>(shop.chain_order.size()) != n) return false;  // a cycle
    shop.chain_of.assign(p.operations.size(), 0);
    int chain = 0;
    for (const int o : shop.chain_order) {
        shop.chain_of[static_cast<std::size_t>(o)] = chain;
        if (shop.after[static_cast<std::size_t>(o)] == n) ++chain;
    }
    return true;
}

bool plain_resources(const Problem& p) {
    if (!p.stores.empty() || p.operations.empty()) return false;
    return std::none_of(p.resources.begin(), p.resources.end(),
                        [](const core::Resource& r) { return r.calendar || r.shared || r.batch; });
}

bool plain_operation(const core::Operation& o) {
    return o.max_stretch && o.max_stretch->count() == 0 && !o.batch;
}

/// Orders: releases go into `base`; due dates only matter for tardiness.
bool read_orders(const Problem& p, ShopModel& shop) {
    for (std::size_t o = 0; o < p.operations.size(); ++o) {
        const auto job = p.operations[o].job;
        if (!job.valid() || !p.jobs[job.index()].order.valid()) continue;
        const auto& order = p.orders[p.jobs[job.index()].order.index()];
        if (order.deadline) return false;
        const std::int64_t at = (order.release - p.horizon_start).count();
        if (at >= kLargestTime) return false;
        shop.base[o] = std::max(shop.base[o], static_cast<int>(std::max<std::int64_t>(0, at)));
    }
    if (p.objective.size() != 1) return false;
    if (p.objective[0] == core::Criterion::Makespan) return true;
    if (p.objective[0] != core::Criterion::WeightedTardiness) return false;
    shop.tardiness = true;
    for (const auto& order : p.orders) {
        std::int64_t due = -1;
        if (order.due) due = (*order.due - p.horizon_start).count();
        if (order.due && due < 0) return false;
        shop.due.push_back(due);
        shop.weight.push_back(order.weight);
    }
    // The last operation stands for its chain, which must therefore lie in one order.
    for (int c = 0; c < shop.chains(); ++c)
        shop.order_of.push_back(-2);
    for (std::size_t o = 0; o < p.operations.size(); ++o) {
        const auto job = p.operations[o].job;
        const int order =
            job.valid() && p.jobs[job.index()].order.valid() ? p.jobs[job.index()].order.value : -1;
        int& known = shop.order_of[static_cast<std::size_t>(shop.chain_of[o])];
        if (known == -2) known = order;
        if (known != order) return false;
    }
    return true;
}

bool times_fit(const Problem& p, const ShopModel& shop) {
    std::int64_t total =
        shop.base.empty() ? 0 : *std::max_element(shop.base.begin(), shop.base.end());
    for (int o = 0; o < shop.operations; ++o) {
        int longest = 0;
        for (int a = shop.first_alternative[static_cast<std::size_t>(o)];
             a < shop.first_alternative[static_cast<std::size_t>(o) + 1]; ++a) {
            longest = std::max(longest, shop.alternatives[static_cast<std::size_t>(a)].time);
        }
        total += longest;
    }
    // Semi-active schedules end by `total`, so the horizon cannot cut any of them off.
    return total < kLargestTime && total <= (p.horizon_end - p.horizon_start).count();
}

/// Preemptive one-machine makespan with heads and tails (Jackson 1955, Carlier 1982).
std::int64_t preemptive_one_machine(std::vector<std::tuple<int, int, int>>& head_time_tail) {
    std::sort(head_time_tail.begin(), head_time_tail.end());
    std::priority_queue<std::pair<int, int>> ready;  // tail, time left
    std::int64_t now = 0;
    std::int64_t bound = 0;
    std::size_t next = 0;
    while (next < head_time_tail.size() || !ready.empty()) {
        if (ready.empty()) now = std::max<std::int64_t>(now, std::get<0>(head_time_tail[next]));
        while (next < head_time_tail.size() && std::get<0>(head_time_tail[next]) <= now) {
            ready.emplace(std::get<2>(head_time_tail[next]), std::get<1>(head_time_tail[next]));
            ++next;
        }
        auto [tail, left] = ready.top();
        ready.pop();
        const std::int64_t until =
            next < head_time_tail.size() ? std::get<0>(head_time_tail[next]) : now + left;
        if (now + left <= until) {
            now += left;
            bound = std::max(bound, now + tail);
        } else {
            ready.emplace(tail, static_cast<int>(left - (until - now)));
            now = until;
        }
    }
    return bound;
}

struct ChainTimes {
    std::vector<int> shortest, head, tail;
};

ChainTimes chain_times(const ShopModel& shop) {
    const auto n = static_cast<std::size_t>(shop.operations);
    ChainTimes t{std::vector<int>(n + 1, 0), std::vector<int>(n + 1, 0),
                 std::vector<int>(n + 1, 0)};
    for (std::size_t o = 0; o < n; ++o) {
        int best = -1;
        for (int a = shop.first_alternative[o]; a < shop.first_alternative[o + 1]; ++a) {
            const int time = shop.alternatives[static_cast<std::size_t>(a)].time;
            if (best < 0 || time < best) best = time;
        }
        t.shortest[o] = best;
    }
    for (const int o : shop.chain_order) {
        const auto i = static_cast<std::size_t>(o);
        const auto b = static_cast<std::size_t>(shop.before[i]);
        t.head[i] = std::max(shop.base[i], t.head[b] + t.shortest[b]);
    }
    for (auto it = shop.chain_order.rbegin(); it != shop.chain_order.rend(); ++it) {
        const auto i = static_cast<std::size_t>(*it);
        const auto a = static_cast<std::size_t>(shop.after[i]);
        t.tail[i] = t.tail[a] + t.shortest[a];
    }
    return t;
}

}  // namespace

std::optional<ShopModel> shop_of(const Problem& p) {
    ShopModel shop;
    if (!plain_resources(p) || !read_chains(p, shop)) return std::nullopt;
    std::vector<int> first_machine(p.resources.size());
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        first_machine[r] = shop.machines;
        if (p.resources[r].capacity > 1000) return std::nullopt;
        for (int k = 0; k < p.resources[r].capacity; ++k) {
            shop.machine_resource.push_back(static_cast<int>(r));
            ++shop.machines;
        }
    }
    shop.real_machines = shop.machines;
    for (const auto& o : p.operations) {
        if (!plain_operation(o)) return std::nullopt;
        shop.first_alternative.push_back(static_cast<int>(shop.alternatives.size()));
        for (std::size_t m = 0; m < o.modes.size(); ++m) {
            const auto& mode = o.modes[m];
            if (!mode.stages.empty() || mode.needs.size() != 1 || mode.work.count() >= kLargestTime)
                return std::nullopt;
            for (const auto r : mode.needs[0].any_of) {
                const int capacity = p.resources[r.index()].capacity;
                if (mode.needs[0].amount != 1) return std::nullopt;
                // An operation without length is in nobody's way: it gets a machine of its own.
                const bool alone = mode.work.count() == 0;
                for (int k = 0; k < (alone ? 1 : capacity); ++k) {
                    int machine = first_machine[r.index()] + k;
                    if (alone) {
                        machine = shop.machines++;
                        shop.machine_resource.push_back(r.value);
                    }
                    shop.alternatives.push_back({.machine = machine,
                                                 .time = static_cast<int>(mode.work.count()),
                                                 .mode = static_cast<int>(m)});
                }
            }
        }
        const int count =
            static_cast<int>(shop.alternatives.size()) - shop.first_alternative.back();
        if (count == 0) return std::nullopt;
        if (count > 1) shop.choice = true;
    }
    shop.first_alternative.push_back(static_cast<int>(shop.alternatives.size()));
    if (!read_orders(p, shop) || !times_fit(p, shop)) return std::nullopt;
    return shop;
}

std::optional<FlowModel> flow_of(const Problem& p) {
    if (p.objective.size() != 1 || p.objective[0] != core::Criterion::Makespan) return std::nullopt;
    const auto shop = shop_of(p);
    if (!shop) return std::nullopt;
    FlowModel flow;
    flow.jobs = shop->chains();
    flow.stages = shop->operations / flow.jobs;
    if (flow.stages * flow.jobs != shop->operations) return std::nullopt;
    std::vector<int> resource(static_cast<std::size_t>(flow.stages), -1);
    std::vector<bool> used(p.resources.size(), false);
    for (std::size_t k = 0; k < shop->chain_order.size(); ++k) {
        const auto o = static_cast<std::size_t>(shop->chain_order[k]);
        const auto s = k % static_cast<std::size_t>(flow.stages);
        if (shop->chain_of[o] != static_cast<int>(k / static_cast<std::size_t>(flow.stages)) ||
            shop->base[o] != 0)
            return std::nullopt;
        const auto& modes = p.operations[o].modes;
        if (modes.size() != 1 || modes[0].needs[0].any_of.size() != 1) return std::nullopt;
        const int r = modes[0].needs[0].any_of[0].value;
        if (resource[s] < 0) {
            if (used[static_cast<std::size_t>(r)]) return std::nullopt;
            used[static_cast<std::size_t>(r)] = true;
            resource[s] = r;
            flow.machines.push_back(p.resources[static_cast<std::size_t>(r)].capacity);
        }
        if (resource[s] != r) return std::nullopt;
        flow.time.push_back(static_cast<int>(modes[0].work.count()));
        flow.operation.push_back(static_cast<int>(o));
    }
    return flow;
}

core::Schedule shop_schedule(const Problem& problem, const ShopModel& shop, const ShopPlan& plan) {
    core::Schedule schedule;
    schedule.placements.resize(problem.operations.size());
    for (std::size_t o = 0; o < problem.operations.size(); ++o) {
        const auto& a = shop.alternatives[static_cast<std::size_t>(plan.alternative[o])];
        auto& placement = schedule.placements[o];
        placement.start = problem.horizon_start + core::Seconds{plan.start[o]};
        placement.work_end = placement.end = placement.start + core::Seconds{a.time};
        placement.mode = a.mode;
        placement.chosen = {
            core::ResourceId{shop.machine_resource[static_cast<std::size_t>(a.machine)]}};
    }
    return schedule;
}

std::int64_t shop_makespan_bound(const ShopModel& shop) {
    const ChainTimes t = chain_times(shop);
    std::int64_t bound = 0;
    for (const int o : shop.lasts) {
        bound = std::max<std::int64_t>(
            bound, t.head[static_cast<std::size_t>(o)] + t.shortest[static_cast<std::size_t>(o)]);
    }
    std::vector<std::vector<std::tuple<int, int, int>>> tied(
        static_cast<std::size_t>(shop.machines));
    std::int64_t work = 0;
    int earliest = -1;
    int shortest_tail = -1;
    for (std::size_t o = 0; o < static_cast<std::size_t>(shop.operations); ++o) {
        work += t.shortest[o];
        if (earliest < 0 || t.head[o] < earliest) earliest = t.head[o];
        if (shortest_tail < 0 || t.tail[o] < shortest_tail) shortest_tail = t.tail[o];
        const auto first = static_cast<std::size_t>(shop.first_alternative[o]);
        const auto end = static_cast<std::size_t>(shop.first_alternative[o + 1]);
        const int machine = shop.alternatives[first].machine;
        bool only = true;
        for (auto a = first; a < end; ++a)
            only = only && shop.alternatives[a].machine == machine;
        if (only)
            tied[static_cast<std::size_t>(machine)].emplace_back(t.head[o], t.shortest[o],
                                                                 t.tail[o]);
    }
    for (auto& machine : tied)
        bound = std::max(bound, preemptive_one_machine(machine));
    // All the work on all the machines.
    bound = std::max(
        bound, earliest + shortest_tail + (work + shop.real_machines - 1) / shop.real_machines);
    return bound;
}

std::int64_t shop_tardiness_bound(const ShopModel& shop) {
    const ChainTimes t = chain_times(shop);
    std::vector<std::int64_t> done(shop.due.size(), 0);
    for (int c = 0; c < shop.chains(); ++c) {
        const auto last = static_cast<std::size_t>(shop.lasts[static_cast<std::size_t>(c)]);
        const int order = shop.order_of[static_cast<std::size_t>(c)];
        if (order < 0) continue;
        auto& slot = done[static_cast<std::size_t>(order)];
        slot = std::max<std::int64_t>(slot, t.head[last] + t.shortest[last]);
    }
    std::int64_t bound = 0;
    for (std::size_t k = 0; k < done.size(); ++k) {
        if (shop.due[k] >= 0)
            bound += shop.weight[k] * std::max<std::int64_t>(0, done[k] - shop.due[k]);
    }
    return bound;
}

std::int64_t flow_makespan_bound(const FlowModel& flow) {
    const auto jobs = static_cast<std::size_t>(flow.jobs);
    const auto stages = static_cast<std::size_t>(flow.stages);
    std::int64_t bound = 0;
    for (std::size_t s = 0; s < stages; ++s) {
        // The M machines of a stage begin no earlier than the M smallest heads and end no later
        // than the M smallest tails before the end (Santos, Hunsucker & Deal 1995).
        std::vector<std::int64_t> heads(jobs, 0);
        std::vector<std::int64_t> tails(jobs, 0);
        std::int64_t work = 0;
        for (std::size_t j = 0; j < jobs; ++j) {
            for (std::size_t k = 0; k < s; ++k)
                heads[j] += flow.time[j * stages + k];
            for (std::size_t k = s + 1; k < stages; ++k)
                tails[j] += flow.time[j * stages + k];
            work += flow.time[j * stages + s];
            bound = std::max(bound, heads[j] + flow.time[j * stages + s] + tails[j]);
        }
        std::sort(heads.begin(), heads.end());
        std::sort(tails.begin(), tails.end());
        const auto m = std::min(static_cast<std::size_t>(flow.machines[s]), jobs);
        std::int64_t sum = work;
        for (std::size_t k = 0; k < m; ++k)
            sum += heads[k] + tails[k];
        const auto count = static_cast<std::int64_t>(m);
        bound = std::max(bound, (sum + count - 1) / count);
    }
    return bound;
}

}  // namespace sched::search
