#pragma once
// A shop, seen in a Problem: chains of operations, each on one machine at a time out of one or
// several. Flat arrays for the searches; recognised by structure, never by name.

#include <cstdint>
#include <optional>
#include <vector>

#include "sched/core/solution.hpp"

namespace sched::search {

/// One way to do an operation.
struct ShopAlternative {
    int machine = 0;  // index into ShopModel::machine_resource
    int time = 0;     // s
    int mode = 0;     // of the core::Operation
};

struct ShopModel {
    int operations = 0;
    int machines = 0;
    int real_machines = 0;  // the first ones; behind them one for each operation without length
    std::vector<int> before, after;      // neighbours in the chain; `operations` = none
    std::vector<int> base;               // earliest start, s after horizon_start
    std::vector<int> first_alternative;  // operations + 1 entries
    std::vector<ShopAlternative> alternatives;
    std::vector<int> chain_order;       // operations in chain order, chain after chain
    std::vector<int> chain_of;          // per operation
    std::vector<int> lasts;             // last operation of each chain
    std::vector<int> machine_resource;  // resource of each machine
    bool choice = false;                // some operation has more than one alternative

    // Set when the objective is weighted tardiness.
    bool tardiness = false;
    std::vector<int> order_of;              // per chain; -1: none
    std::vector<std::int64_t> due, weight;  // per order; due -1: never late

    int chains() const { return static_cast<int>(lasts.size()); }
};

/// Resources of capacity above 1 become that many machines with equal alternatives.
/// @returns nullopt unless the problem is a shop with the objective {Makespan} or
/// {WeightedTardiness}, and its times fit 30 bits.
std::optional<ShopModel> shop_of(const core::Problem& problem);

/// A hybrid flow shop: every chain passes the same stages, each one resource with `machines[s]`
/// equal units.
struct FlowModel {
    int jobs = 0;
    int stages = 0;
    std::vector<int> machines;   // per stage
    std::vector<int> time;       // jobs x stages
    std::vector<int> operation;  // jobs x stages
};
std::optional<FlowModel> flow_of(const core::Problem& problem);

/// Where each operation goes: start [s after horizon_start] and alternative (absolute index).
struct ShopPlan {
    std::int64_t value = -1;
    std::vector<int> start;
    std::vector<int> alternative;
};

core::Schedule shop_schedule(const core::Problem& problem, const ShopModel& shop,
                             const ShopPlan& plan);

/// Lower bound on the makespan: longest chain, and for every machine the preemptive one-machine
/// schedule with heads and tails (Jackson's rule; Carlier 1982) of what must go there.
std::int64_t shop_makespan_bound(const ShopModel& shop);

/// Lower bound on the weighted tardiness: every chain alone.
std::int64_t shop_tardiness_bound(const ShopModel& shop);

std::int64_t flow_makespan_bound(const FlowModel& flow);

}  // namespace sched::search
