#pragma once
// Lead times for the wall, the quote form and the price list, from the run that `weeks` makes: the
// same arrivals, the same rule, the same random variation. What an order of a kind and size,
// brought in at some time of the day, was ready by.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "sched/promise/order_mix.hpp"
#include "sched/promise/promise.hpp"
#include "sched/simulate/long_run.hpp"

namespace sched::study {

/// Times of entry within the day: [from, to).
struct EntryClass {
    core::Seconds from{0}, to{0};
    std::string words;  // "before 10:00"
};
/// Before 10:00, until 13:00 and after; where one of these has hardly an order (a shop that opens
/// at 16:00), thirds of the orders instead, cut at full hours.
/// @param times of the day at which orders came in; empty: the usual three.
std::vector<EntryClass> entry_classes(std::vector<core::Seconds> times);

/// Classes of order size, rising: those of the room (model::PromiseRule::sizes), and one more for
/// what is larger, if any of the orders is.
struct SizeClass {
    int least = 1;
    std::optional<int> most;    // none: any
    std::string words() const;  // "1 to 4", "17 and more"
};
std::vector<SizeClass> size_classes(const model::Scenario& scenario);

/// Ready by that slot so many working days after the day of entry.
struct LeadTime {
    int working_days = 0;
    core::Seconds slot{0};
    std::string words() const;  // "same day 16:00", "next working day 11:00"
    friend auto operator<=>(const LeadTime&, const LeadTime&) = default;
};

struct LeadCell {
    std::size_t kind = 0, size = 0, entry = 0;  // of LeadTable::kinds, ::sizes, ::entries
    std::size_t n = 0;                          // orders of its own
    bool pooled = false;  // too few of them: from orders of all kinds, of all hours if need be
    std::optional<double> median_h, level_h;  // ready - entry; at the shop's level
    std::optional<LeadTime> by;               // at the shop's level; none: nothing to go by
};

/// All kinds, all hours of entry.
struct LeadPrice {
    std::size_t size = 0;
    std::size_t n = 0;
    std::vector<std::optional<LeadTime>> by;  // per LeadTable::levels
};

struct LeadTable {
    std::string room;
    bool invented = false;
    double level = 0.9;          // the shop's
    std::vector<double> levels;  // of the price list, rising, the shop's among them
    double load = 1.0;
    int days = 0;  // working days simulated
    std::size_t warm_up = 0;
    bool trusted = true;  // false: the run is too short for its figures
    bool interrupted = false;
    std::size_t orders = 0;  // that count
    double orders_a_day = 0.0;
    double median_h = 0.0, level_h = 0.0;  // of all orders
    std::vector<std::string> kinds;
    std::vector<SizeClass> sizes;
    std::vector<EntryClass> entries;
    std::vector<LeadCell> cells;    // by kind, size, entry; those without orders too
    std::vector<LeadPrice> prices;  // by size
    std::string slot_words;
};

/// Cells and price list from orders. Larger orders are never promised sooner than smaller ones of
/// the same kind and entry: where samples say otherwise, neighbouring classes are taken together
/// until they do not (pool adjacent violators on quantiles, each of the pooled sample). A cell with
/// too few orders for the level goes by those of all kinds; if they are too few, of all hours.
/// @param orders warm-up left out.
void fill_lead_table(const model::Scenario& scenario, const std::vector<LongRunOrder>& orders,
                     LeadTable& table);

/// @param options those of run_long(); keep_orders is set here. @param load orders, in times those
/// of options.arrivals.
/// @returns nullopt with `problem` where nothing can be said: the room cannot be run, or the queue
/// grows without end.
std::optional<LeadTable> lead_table(const model::Scenario& scenario,
                                    const compile::CompileOptions& compile_options,
                                    LongRunOptions options, double load, std::string& problem);

/// Working days (somebody has a shift) from the day of `entry` to that of `ready`; 0: the same day.
int working_days_between(const model::Room& room, core::SimTime entry, core::SimTime ready);

}  // namespace sched::study
