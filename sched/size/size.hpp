#pragma once
// Is a change to the room worth its money? Today's room and each change live through the same days
// with the same random variation; differences are paired, days go where they decide, money follows.
// What a reader needs to repeat the argument: docs/sizing.md.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/room/change.hpp"
#include "model/room/order.hpp"
#include "sched/chance/chance.hpp"
#include "sched/statistics/money.hpp"
#include "sched/statistics/queueing_theory.hpp"
#include "sched/statistics/ranking.hpp"

namespace sched::study {

/// One room of the comparison; the first of a study is today's.
struct SizeOption {
    std::string name = "today";
    std::vector<model::Change> changes;  // none: today's; several: all of them together
    model::Scenario scenario;            // the room with the changes laid over it
};

struct SizeOptions {
    std::uint64_t seed = 1;
    std::size_t least = 20;  // days of every room at every volume
    std::size_t most = 400;  // days of one room at the volume of the decision
    bool every_day = false;  // every room goes through `most` days at every volume: what shards do
    double confidence = 0.95;
    int threads = 1;
    /// Schedules and simulated days spent on the plan of today's room (chance_plan.hpp), a third of
    /// it on each other's, which may also work in today's order; 0: `policy`, a dispatching rule,
    /// everywhere.
    std::int64_t effort = 400;
    std::string policy = "atc";
    Chance chance;  // its `days`: kinds of day with weights (climate_kinds)
    /// Days of orders as they were (model/read/order_history.hpp): each simulated day draws one of
    /// them with equal chances, the same in every room. Empty: the scenario's orders every day.
    std::vector<std::vector<model::Order>> history;
    Prices prices;
    std::vector<double> volumes = {1.0};  // shares of today's; the one next 1 is the decision's
    /// Difference a day that does not matter, for the ranking; none: 5 % of today's mean.
    std::optional<double> indifference;
    double precision = 0.05;  // relative, of the p90 turnaround of the best room
    /// Share of orders on time with which a room copes; 0: as today's room with today's volume.
    double coping = 0.0;
    double lamp_kw = 3.0;                  // [M] drawn by an exposure unit while it exposes
    double dehumidifier_kwh_per_kg = 0.6;  // [M] electricity per kg of water taken out of the air
    model::SimTime start{};
    int days = 3;
    std::string fingerprint;  // of all input files; shards of different input are not joined
    std::function<bool()> stop;
    std::function<void(const std::string&)> progress;  // a sentence with the present ranking
};

/// One simulated day of one room at one volume. Also a row of the CSV and of a shard.
struct SizeDay {
    int option = 0;
    int volume = 0;         // index into SizeHead::volumes
    std::uint64_t day = 0;  // number: the random variation
    int kind = 0;           // index into SizeHead::kinds
    int past = -1;          // which past day's orders; -1: the scenario's
    /// All screens ready within the horizon; else all count as ready at its end. A day without
    /// screens that is not complete has not been simulated.
    bool complete = false;
    bool counts() const { return complete || screens > 0; }
    int orders = 0;  // without those that were due before the day begins: late whatever is bought
    int screens = 0;
    int same_day = 0;  // screens ready before the first day's last shift ends
    int late = 0;      // of `orders`
    /// Summed over all orders; of one that was due before the day begins, from its beginning on.
    double tardiness_h = 0.0;
    double turnaround_p90_h = 0.0;  // 90th percentile over orders of ready - opening
    double flow_h = 0.0;            // mean over screens of the time from first to last touch
    double overtime_h = 0.0;
    double energy_kwh = 0.0;
    double cost = 0.0;  // cost_of_day
    int busiest = -1;   // resource with the largest share of its open time in use
    double busiest_share = 0.0;
    int next = -1;  // the one after it
    double next_share = 0.0;
    friend bool operator==(const SizeDay&, const SizeDay&) = default;
};

/// Sanity beside the simulation, from times alone (Factory Physics, Erlang).
struct SizeTheory {
    double bottleneck_rate = 0.0;     // r_b, screens an hour of opening
    double raw_process_time_h = 0.0;  // T0 of one screen, waiting for nothing
    double critical_wip = 0.0;        // W0 = r_b T0, screens
    std::string bottleneck;
    double screens_a_day = 0.0;  // r_b x opening hours
    double best_cycle_h = 0.0;   // with the day's screens all in the room at once
    double practical_worst_cycle_h = 0.0;
    double worst_cycle_h = 0.0;
    double load = 0.0;          // work of the bottleneck, in units busy all day
    int units = 0;              // of the bottleneck, installed
    int square_root_units = 0;  // units by load + sqrt(load)
    friend bool operator==(const SizeTheory&, const SizeTheory&) = default;
};

struct SizeRoomHead {
    std::string name;
    std::string words;
    bool invented = false;
    std::vector<ChangeCost> costs;  // of each of its changes
    std::vector<std::string> resources;
    std::string order_of_work;  // what is taken first, at the volume of the decision, in words
    SizeTheory theory;
    friend bool operator==(const SizeRoomHead&, const SizeRoomHead&) = default;
};

/// What a study is about: with the days simulated it gives the result. Equal in all shards.
struct SizeHead {
    std::string room;
    bool invented = false;
    std::string fingerprint;
    std::vector<SizeRoomHead> rooms;  // today's first
    /// Orders of the scenario that were due before the day begins, by name.
    std::vector<std::string> overdue;
    std::vector<double> volumes;
    std::vector<DayKind> kinds;
    std::uint64_t past_days = 0;  // days of orders as they were; 0: the scenario's every day
    std::uint64_t seed = 1;
    std::uint64_t least = 0;
    std::uint64_t most = 0;
    bool every_day = false;
    double confidence = 0.95;
    std::int64_t effort = 0;
    std::string policy;
    Prices prices;
    bool by_money = true;       // false: nothing has a price, rooms are ranked by tardiness
    double indifference = 0.0;  // money, or hours of tardiness, a day
    double precision = 0.05;
    double coping = 0.0;  // 0: as today's room with today's volume
    friend bool operator==(const SizeHead&, const SizeHead&) = default;
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
    double on_time = 0.0;        // share of orders
    Interval on_time_interval;   // ratio estimate over days (orders of a day share their random
                                 // variation)
    double today_on_time = 0.0;  // of today's room on the same days, for a fair comparison
    double curve = 0.0;          // share on time on the days that every room simulated: the curve
    Interval curve_interval;
    SizeFigure late, tardiness_h, turnaround_p90_h, screens, overtime_h, energy_kwh, cost;
    std::string bottleneck;  // the busiest resource on most days
    double busiest = 0.0;    // its mean share in use, over those days
    std::string next;        // what would limit after it
    double next_busiest = 0.0;
};
/// The same at the volume of the decision, days of one kind only.
struct SizeKindCell {
    int option = 0;
    int kind = 0;
    std::size_t days = 0;
    double on_time = 0.0;
    SizeFigure tardiness_h;
    double today_on_time = 0.0;
    std::string bottleneck;  // as in SizeCell, on days of this kind
    double busiest = 0.0;
    std::string next;
    double next_busiest = 0.0;
};

enum class SizeEnd {
    Clear,        // one room is left, with the stated confidence
    Days,         // the days ran out before that
    Interrupted,  // by the user
};

struct SizeResult {
    SizeHead head;
    std::size_t decision = 0;         // index of the volume at which it is decided
    std::vector<SizeCell> cells;      // by option, then volume
    std::vector<SizeKindCell> kinds;  // by option, then kind; empty with one kind
    std::vector<MoneyCase> money;     // per option at the volume of the decision; today's is empty
    /// Share of today's volume from which the net present value is not negative; `low` and `high`
    /// are the same crossing of the ends of its interval.
    struct BreakEven {
        std::optional<double> at, low, high;
    };
    std::vector<BreakEven> break_even;  // per option; today's is empty
    struct Copes {
        std::optional<double> to;         // share of today's volume; none: not even at the least
        bool beyond = false;              // copes with the largest volume too
        std::optional<double> low, high;  // by the ends of the on-time band
    };
    std::vector<Copes> copes;  // per option
    /// Every room has simulated a day at every volume; if not (interrupted before), nothing is
    /// known about the volumes: `copes` and `break_even` are empty and say nothing.
    bool volumes_simulated = true;
    std::vector<std::vector<std::string>> disagree;  // per option: where theory and days differ
    Ranking ranking;  // by cost of a day and of the change, or tardiness
    SizeEnd end = SizeEnd::Days;
    bool precise = false;                      // the wanted precision was reached
    double coping = 0.0;                       // share of orders on time that counts as coping
    std::string conclusion;                    // what the lead can say to the owner
    std::vector<std::string> money_sentences;  // per option; today's is empty
    std::vector<SizeDay> all;                  // by option, volume, day
    const SizeCell& cell(std::size_t option, std::size_t volume) const {
        return cells[option * head.volumes.size() + volume];
    }
};

struct SizeOrder;
struct SizeRoom;
struct SizeWorker;

/// Rooms compiled and ready to simulate days. Same seed, same days, whatever the number of threads.
class SizeStudy {
public:
    /// @param options today's first; must outlive the study.  @returns nullptr with `problem`
    /// filled when a room does not compile.
    static std::unique_ptr<SizeStudy> open(const std::vector<SizeOption>& options,
                                           const SizeOptions& settings, std::string& problem);
    ~SizeStudy();

    const SizeHead& head() const { return head_; }
    /// Days where they decide, until the answer is clear and precise, the days are used or stop().
    SizeResult run() const;
    /// Shard i of n, 0 <= i < n: days i, i + n, i + 2n, ... below `most` of every room at every
    /// volume. Nothing is left out early: which room is best is decided when all are joined.
    std::vector<SizeDay> shard(std::size_t i, std::size_t n) const;

private:
    struct Rooms;
    SizeStudy();
    bool open_past_days(std::string& problem);
    void choose_orders();
    void leave_idle(std::size_t option);
    std::vector<SizeOrder> orders_of(std::size_t option) const;
    /// By order and day: the room's aims in one number, what the study counts, hours of lateness.
    struct Tried {
        std::vector<std::vector<double>> aims, cost, tardiness;
    };
    Tried tried(std::size_t option, std::size_t volume, const std::vector<SizeOrder>& orders,
                std::size_t days) const;
    const SizeRoom* room_of(SizeDay& day, const std::string& rule,
                            std::unique_ptr<SizeRoom>& own) const;
    SizeDay simulate_day(SizeDay asked, SizeWorker& worker) const;
    std::vector<SizeDay> simulate(std::vector<SizeDay> wanted) const;
    void say(const SizeResult& so_far, const std::string& done) const;

    SizeOptions settings_;
    SizeHead head_;
    std::unique_ptr<Rooms> rooms_;
};

/// The result from days in any order: of one run, or of all shards byte for byte the same.
SizeResult size_result(SizeHead head, std::vector<SizeDay> days, bool interrupted = false);

/// Kinds of day weighted by the rows of a weather file: each row counts for as long as it holds,
/// for the named day of the climate whose humidity ratio is nearest (what sets the pace of
/// drying). Empty without named days, or with rows of fewer than `least_days` days.
std::vector<DayKind> climate_kinds(const model::Scenario& scenario, int least_days = 14);

/// CSV of days with names, 17 significant digits.
std::string days_to_csv(const SizeHead& head, std::span<const SizeDay> days);

}  // namespace sched::study
