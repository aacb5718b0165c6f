#pragma once
// How orders come in over weeks: how many at which hour of which weekday, what they are, and when
// they are wanted. Rates, or days as they were.

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "model/base/time.hpp"
#include "model/room/chance.hpp"
#include "model/room/order.hpp"
#include "sched/engine/draws.hpp"

namespace sched::study {

/// One order that came in: kind = index into the kinds.
struct Arrival {
    std::int64_t at = 0;  // s after midnight of the first Monday
    int kind = 0;
    std::uint64_t name = 0;  // of its own: hour and number in it
    friend bool operator==(const Arrival&, const Arrival&) = default;
};

/// Where orders come from. Draws are keyed by day, hour and number: a higher rate in one hour
/// changes no other hour, another kind of order changes no arrival.
struct ArrivalProcess {
    /// Orders per hour by weekday (Monday first) and hour of the day: a Poisson process.
    std::array<std::array<double, 24>, 7> per_hour{};
    std::vector<double> kind_weight;  // one per kind, not all 0

    /// Days as they were, instead of rates: each simulated day repeats one of the same weekday,
    /// drawn with equal chances. Empty: rates.
    struct PastOrder {
        std::int32_t second = 0;  // of the day
        int kind = -1;            // -1: drawn by weight
    };
    using PastDay = std::vector<PastOrder>;
    std::array<std::vector<PastDay>, 7> history;

    bool from_history() const;
    /// Those of [from, from + 24 h), in time order. @param from on a full hour.
    void draw(std::int64_t from, const engine::Draws& draws, std::vector<Arrival>& out) const;
};

/// So many times the orders: rates are multiplied; of past days order k comes floor((k + 1) f) -
/// floor(k f) times, evenly spread over the day.
ArrivalProcess times_as_many(ArrivalProcess process, double factor);

/// The same number of orders on each of the given weekdays, evenly between two hours; those from 24
/// on are of the night after it.
ArrivalProcess even_arrivals(double orders_a_day, const std::array<bool, 7>& weekdays,
                             int from_hour, int to_hour, std::vector<double> kind_weight);

/// What chance.yaml and arrivals.csv say. Without a word of theirs: as many orders a day as the
/// scenario has, evenly over the hours and days on which somebody is on shift.
/// @param past lines of arrivals.csv; they win over rates.
ArrivalProcess arrivals_of(const model::ChanceSettings& settings,
                           const std::vector<model::PastOrder>& past,
                           const model::Scenario& scenario);

/// Weekdays (Monday first) on which a shift begins, with the first and last hour of all; the last
/// is above 24 where a shift ends on the next day, and never more than 24 after the first.
struct OpenWeek {
    std::array<bool, 7> weekdays{};
    int from_hour = 24, to_hour = 0;
};
OpenWeek open_week(const model::Room& room);

}  // namespace sched::study
