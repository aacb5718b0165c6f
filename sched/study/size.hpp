#pragma once
// Is a change to the room worth its money? Today's room and each change live through the same days
// with the same luck; differences are paired, replications go where they decide, money follows.

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/room/change.hpp"
#include "model/room/order.hpp"
#include "sched/study/chance.hpp"
#include "sched/study/money.hpp"
#include "sched/study/queueing_theory.hpp"
#include "sched/study/ranking.hpp"

namespace sched::study {

/// One room of the comparison. The first is today's.
struct SizeOption {
    model::Change change;      // name and figures; today's room: name "today", no cost
    model::Scenario scenario;  // the room with the change laid over it
};

struct SizeOptions {
    std::uint64_t seed = 1;
    std::size_t least = 10;   // days of every room at every volume
    std::size_t most = 1000;  // days of one room at one volume
    double confidence = 0.95;
    int threads = 1;
    std::string policy = "atc";  // a dispatching rule: nobody replans a day that is not yet known
    Chance chance;
    Prices prices;
    std::vector<double> volumes = {
        1.0};                    // shares of today's volume; the first near 1 is the decision's
    double indifference = 10.0;  // money per day that does not matter, for the ranking
    double precision = 0.05;     // relative, of the mean cost of a day (or 1 in money)
    double lamp_kw = 3.0;        // [M] drawn by an exposure unit while it exposes
    double dehumidifier_kwh_per_kg = 0.6;  // [M] electricity per kg of water taken out of the air
    model::SimTime start{};
    int days = 3;
    std::function<bool()> stop;
    std::function<void(const std::string&)> progress;  // a sentence with the present ranking
};

/// One lived day of one room at one volume. Also a row of the CSV and of a shard.
struct SizeDay {
    int option = 0;
    int volume = 0;         // index into SizeOptions::volumes
    std::uint64_t day = 0;  // number: the luck
    bool complete = false;
    int orders = 0;
    int screens = 0;
    int late = 0;
    double tardiness_h = 0.0;       // summed over orders
    double turnaround_p90_h = 0.0;  // 90th percentile over orders of ready - opening
    double overtime_h = 0.0;
    double energy_kwh = 0.0;
    double cost = 0.0;  // cost_of_day
    int busiest = -1;   // resource with the largest share of its open time in use
    double busiest_share = 0.0;
    friend bool operator==(const SizeDay&, const SizeDay&) = default;
};

/// What a room does at a volume, with the paired difference to today (option - today).
struct SizeFigure {
    MeanInterval mean;
    Difference to_today;
};
struct SizeCell {
    int option = 0;
    int volume = 0;
    std::size_t days = 0;
    std::size_t incomplete = 0;
    double on_time = 0.0;       // share of orders
    Interval on_time_interval;  // Wilson over orders
    SizeFigure late, tardiness_h, turnaround_p90_h, screens, overtime_h, energy_kwh, cost;
    double busiest = 0.0;       // highest mean utilisation
    int bottleneck_index = -1;  // the busiest resource on most days
    std::string bottleneck;
};

/// Sanity beside the simulation, from times alone (Factory Physics, Erlang).
struct SizeTheory {
    int option = 0;
    theory::LineLimits line;  // per hour and hours; WIP in screens
    std::string bottleneck;
    double screens_a_day = 0.0;            // bottleneck rate x staffed hours
    double practical_worst_cycle_h = 0.0;  // at the day's screens in the room
    int square_root_servers = 0;           // units of the bottleneck at beta = 1
    bool disagrees = false;  // the simulated day finishes more than the bottleneck could
};

struct SizeResult {
    std::vector<std::string> options;  // names, today's first
    std::vector<double> volumes;
    std::vector<SizeCell> cells;   // by option, then volume
    std::vector<MoneyCase> money;  // per option at the volume of the decision; today's is empty
    std::vector<std::optional<double>> break_even;  // per option: share of today's volume, from NPV
    std::vector<std::optional<double>>
        copes_to;  // per option: volume to which 95 % of orders are on time
    std::vector<SizeTheory> theory;
    Ranking ranking;  // at the volume of the decision, by cost of a day and of the change
    std::vector<SizeDay> all;
    std::string conclusion;
};

/// @param options today's first. @returns nullopt with `problem` filled when a room does not
/// compile.
std::optional<SizeResult> size_study(const std::vector<SizeOption>& options,
                                     const SizeOptions& settings, std::string& problem);

/// One shard of n: its share of a fixed number of days (settings.most) of every room and volume, no
/// sequential stopping. Shard i takes days i, i + n, i + 2n, ...
std::optional<std::vector<SizeDay>> size_shard(const std::vector<SizeOption>& options,
                                               const SizeOptions& settings, std::size_t shard,
                                               std::size_t of, std::string& problem);
/// The whole from all shards, in any order: byte for byte what one run gives.
SizeResult size_from_days(const std::vector<SizeOption>& options, const SizeOptions& settings,
                          std::vector<SizeDay> days);

/// CSV of days, exact (17 significant digits), and back. nullopt: not such a file.
std::string days_to_csv(std::span<const SizeDay> days);
std::optional<std::vector<SizeDay>> days_from_csv(const std::string& text);

}  // namespace sched::study
