#pragma once
// The room over weeks: orders come in, what is not done today is done tomorrow, random variation
// has its way. One unbroken run, a day at a time, so that memory does not grow with its length;
// then statements about the room in the long run, with the warm-up removed and intervals from batch
// means.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/chance/arrivals.hpp"
#include "sched/chance/chance.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/simulate/offered_load.hpp"
#include "sched/statistics/output_analysis.hpp"

namespace sched::study {

/// What is worked on first. All of them look at the room again every morning before the first
/// shift: what has begun goes on, the rest is ranked anew.
enum class LongRunRule {
    Urgency,  // apparent tardiness cost: weight / work left, the more the less slack is left
    Due,      // earliest due date
    Arrival,  // first come, first served
};
struct LongRunRuleWords {
    LongRunRule rule;
    std::string name, words;
};
std::vector<LongRunRuleWords> long_run_rules();

/// What happened in the room, in order of time within a day (docs/simulation.md#the-trace).
struct TraceEvent {
    enum class What { OrderIn, Start, WorkEnd, OrderOut };
    What what = What::Start;
    std::int64_t at = 0;         // s after midnight of the first Monday
    std::uint64_t order = 0;     // number of the order, from 1
    int kind = -1;               // index into Scenario::orders: the order that it is like
    int screen = 0;              // within the order, from 1; 0: the whole order
    int operation = -1;          // index into RoomProblem::operations
    int round = 0;               // 0: first way, 1..: remade
    std::vector<int> resources;  // index into Problem::resources
};

struct LongRunOptions {
    int days = 250;  // working days (days on which somebody is on shift)
    /// Where neighbouring batches of days still go together, nothing can be said about the long run
    /// yet: the run is doubled, up to so many times `days`, after 1,000 at least. 1: never.
    int longer = 1;
    std::uint64_t seed = 1;
    std::uint64_t replication = 0;
    LongRunRule rule = LongRunRule::Urgency;
    Chance chance;                             // rush orders and late films play no part here
    ArrivalProcess arrivals;                   // kinds: the orders of the scenario, in their order
    core::Seconds allowed = model::hours(24);  // due so long after it came in, days off not counted
    double confidence = 0.95;
    int batches = 20;
    /// Stops when the mean turnaround is this precise (asked every 25 days, not before 50).
    std::optional<Precision> precision;
    std::function<bool()> stop;                     // asked every day
    std::function<void(int day, int of)> progress;  // every day
    std::function<void(const TraceEvent&)> trace;   // called in order
    bool keep_orders = false;                       // LongRun::orders
};

struct LongRunResource {
    std::string name;
    MeanInterval utilisation;  // working / open, means of days (docs/glossary.md)
    MeanInterval allocation;   // (working + holding) / open
};

/// An order that became ready.
struct LongRunOrder {
    int kind = 0;                    // index into Scenario::orders: the order that it is like
    core::SimTime entry{}, ready{};  // from when it came in to when its last screen was ready
    friend bool operator==(const LongRunOrder&, const LongRunOrder&) = default;
};

/// Some working days in a row and the orders that became ready in them [s from coming in].
struct LongRunStretch {
    int from = 0, to = 0;  // working days, to excluded
    std::size_t orders = 0;
    double mean = 0.0, p10 = 0.0, p90 = 0.0;
};

struct LongRun {
    int days = 0;              // working days simulated
    bool precise = false;      // stopped by the wanted precision
    bool interrupted = false;  // stop() ended it: the days are too few
    OfferedLoad offered;       // far above 1: nothing was simulated
    std::int64_t orders_in = 0, orders_out = 0;
    std::int64_t screens_in = 0, screens_out = 0, screens_inside = 0;
    std::int64_t remakes = 0, failures = 0, absences = 0;
    /// Emulsion that ends within the three weeks that a run looks ahead; without any, all 0.
    struct Pots {
        bool end = false;
        std::int64_t mixed = 0;      // times
        std::int64_t ended = 0;      // pots, with something left in them
        std::int64_t kept_days = 0;  // on which what is mixed was taken to keep: no end without
    } pots;
    std::size_t warm_up = 0;      // orders left out at the front (MSER-5)
    bool warm_up_trusted = true;  // false: the cut is half the run, it is too short
    std::size_t batches = 0;      // of working days
    double correlation = 0.0;     // of the turnaround in neighbouring batches
    bool trusted = true;          // false: the run is too short for its intervals
    /// More comes in than the room can do: the number of orders inside grows by so many a working
    /// day, and no turnaround can be stated. 0: it does not.
    double grows = 0.0;
    MeanInterval turnaround;                      // s from coming in to ready, of orders
    MeanInterval turnaround_p50, turnaround_p90;  // of all orders; intervals over the batches
    MeanInterval late;                            // share of orders late, over the batches
    MeanInterval tardiness;                       // s
    MeanInterval throughput;                      // screens ready per working day
    double inside_mean = 0.0;                     // screens in the room, mean over time
    std::vector<LongRunResource> resources;
    std::vector<LongRunOrder> orders;  // as they became ready, warm-up included; if asked for
    /// The whole run, warm-up included, in at most 80 stretches of whole weeks of five working
    /// days; those without orders are left out.
    std::vector<LongRunStretch> stretches;
    int settled_from = 0;  // working day after the warm-up
    /// Little's law on the whole run, in screen-seconds: the area under the number inside and the
    /// sum of the times inside. Equal, or there is a mistake in the program.
    std::int64_t area_inside = 0, times_inside = 0;
    /// Not empty: the day on which the run could not go on, and why.
    std::string stuck;
};

/// @param compile_options start: any moment of the first week; days and spare ways are set here.
/// @returns nullopt when the scenario does not compile, a day kind is unknown, or the screens of
/// the run depend on each other by more than places, people and stores.
std::optional<LongRun> run_long(const model::Scenario& scenario,
                                const compile::CompileOptions& compile_options,
                                const LongRunOptions& options);

}  // namespace sched::study
