#pragma once
// A plan, or a rule instead of one, simulated through many days of different random variation: when
// each order is really ready, how likely it is late, and what the places and people were doing.
// Same seed, same result, whatever the number of threads.

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sched/chance/chance.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/schedule.hpp"
#include "sched/statistics/output_analysis.hpp"

namespace sched::study {

/// What people do when the day turns out otherwise: policies(), docs/simulation.md. Whoever follows
/// a plan repeats it second for second as long as nothing is late. A remade screen takes its turn
/// from the moment it failed, a rush order from the moment it came. Any name of engine::rules()
/// ("atc", "edd", ...): no plan, the rule says what goes first.
struct PolicyWords {
    std::string name;
    std::string words;
};
std::vector<PolicyWords> policies();

struct ReplicateOptions {
    std::size_t replications = 1000;  // at most
    std::uint64_t seed = 1;
    std::uint64_t first = 0;  // number of the first replication (shards)
    int threads = 1;
    std::string policy = "follow";
    /// Per operation of the run, s: the plan is this list of work (list_search.hpp), and `policy`
    /// is not asked where it is "follow".
    std::vector<double> turns;
    /// By whose starts work is taken once the day has left the plan; nullptr: the plan's.
    const core::Schedule* ranked_by = nullptr;
    Chance chance;
    /// Laid over the room of every kind of day before it is simulated in; unset: nothing is. Orders
    /// and operations stay by number.
    std::function<void(compile::RoomProblem&)> change;
    double confidence = 0.95;
    bool operations = false;  // keep the times of every step
    int spare_days = 3;       // added to the horizon, so that what is late still ends
    std::optional<Precision>
        precision;               // stop when every order's mean time to ready is this precise
    std::function<bool()> stop;  // asked before every day
    std::function<void(std::size_t done, std::size_t of)> progress;  // between batches
};

/// One replication as numbers. Times in s after the start of the horizon.
struct Replication {
    std::uint64_t number = 0;
    bool complete = false;  // false: no schedule within the horizon; the rest is empty
    /// Per operation of the plan, only where asked for: s after the start; -1: a screen was found
    /// bad before it.
    std::vector<std::int32_t> begun, done;
    std::vector<std::int64_t> ready;      // per order of the run
    std::vector<std::int64_t> objective;  // per criterion
    std::vector<std::int64_t> working;    // capacity-seconds per resource within opening hours
    std::vector<std::int64_t> allocated;  // the same, holding included
    std::vector<std::int64_t> open;       // capacity-seconds per resource within opening hours
    std::int64_t last_ready = 0;          // of all planned orders
    int remakes = 0;
    int failures = 0;
    int absences = 0;
    int late_films = 0;
    int rush_orders = 0;
    int rush_late = 0;
    int misses = 0;           // limits broken by how long things took
    bool improvised = false;  // see the policy
    friend bool operator==(const Replication&, const Replication&) = default;
};

/// A quantile with the order-statistic interval around it.
struct QuantileEstimate {
    double value = 0.0;
    Interval interval;
};

struct OrderOutcome {
    std::string name;
    MeanInterval ready;  // s after the start
    QuantileEstimate p10, p50, p90;
    std::int64_t late = 0;  // of n
    std::int64_t n = 0;
    Interval chance_late;    // Wilson; {0, 0} and n = 0 for an order without a due time
    MeanInterval tardiness;  // s
};

/// When a step of the plan really begins and is done, s after the start.
struct OperationOutcome {
    std::size_t n = 0;  // days on which it happened; 0: the rest means nothing
    double begin_p10 = 0.0, begin_p90 = 0.0, done_p10 = 0.0, done_p90 = 0.0;
};

/// Time elements after ISO 22400-2 (docs/glossary): within the opening hours of the first day.
struct ResourceOutcome {
    std::string name;
    std::optional<MeanInterval>
        utilisation;  // working / open: availability APT / PBT; none: never open
    std::optional<MeanInterval> allocation;  // (working + holding) / open: AUBT / PBT
};

struct Replications {
    std::size_t used = 0;  // complete ones, from which everything below is made
    std::size_t incomplete =
        0;                 // did not end within the horizon: counted as late, not in the means
    bool precise = false;  // stopped by the wanted precision
    std::string policy;
    std::vector<OrderOutcome> orders;  // in Problem order
    std::vector<ResourceOutcome> resources;
    std::vector<OperationOutcome> operations;  // per operation of the plan, where asked for
    std::vector<MeanInterval> objective;       // per criterion
    MeanInterval late_orders;
    MeanInterval misses;         // limits broken a day (remover too long, ...)
    std::size_t improvised = 0;  // days on which the plan could not be kept to
    MeanInterval remakes;
    MeanInterval last_ready;       // s after the start
    std::vector<Replication> all;  // by number
};

/// @param plan the schedule of `room` (compiled from the scenario with `options`); nullptr only
/// with a rule. @returns nullopt when the scenario does not compile with the spare days, a day kind
/// or policy is unknown, or "follow" has no plan.
std::optional<Replications> replicate(const model::Scenario& scenario,
                                      const compile::CompileOptions& compile_options,
                                      const compile::RoomProblem& room, const core::Schedule* plan,
                                      const ReplicateOptions& options);

/// Statements from the replications of one or several shards, given in the order of their numbers.
Replications summarise(const core::Problem& problem, std::span<const Replication> all,
                       double confidence);

}  // namespace sched::study
