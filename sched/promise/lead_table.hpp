#pragma once
// Lead times for the wall and the quote form: two working weeks after each other in which orders
// like the scenario's come in all day long, first come first served, simulated with random
// variation. What an order of a kind and size, brought in at some time of the day, was ready by.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sched/chance/chance.hpp"
#include "sched/promise/order_mix.hpp"
#include "sched/promise/promise.hpp"

namespace sched::study {

struct LeadTableOptions {
    core::SimTime start{};  // midnight of a Monday
    int weeks = 20;         // counted; each run gives one, between its warm-up and its last days
    double load = 1.0;      // screens a day, in times the scenario's
    std::string rule = "fifo";
    std::string day_kind;
    Chance chance;
    std::uint64_t seed = 1;
    int threads = 1;
    std::function<bool()> stop;
};

/// One order of the simulated weeks.
struct LeadOrder {
    int week = 0;
    std::size_t kind = 0;  // of LeadTable::kinds, of most of its screens
    int screens = 1;
    core::SimTime entry{}, ready{};
    friend bool operator==(const LeadOrder&, const LeadOrder&) = default;
};

/// Times of entry within the day: [from, to).
struct EntryClass {
    core::Seconds from{0}, to{0};
    std::string words;  // "before 10:00"
};
const std::vector<EntryClass>& entry_classes();

struct LeadCell {
    std::size_t kind = 0, size = 0, entry = 0;  // of LeadTable, size_groups(), entry_classes()
    std::size_t n = 0;
    double median_h = 0.0;          // ready - entry
    std::optional<double> level_h;  // at the shop's level; none: too few orders for it
    /// Ready by that slot so many working days after the day of entry, at the shop's level.
    std::optional<int> working_days;
    core::Seconds slot{0};      // of the day
    std::string words() const;  // "same day 16:00", "next working day 11:00"
};

struct LeadTable {
    std::string room;
    bool invented = false;
    double level = 0.9;
    double load = 1.0;
    double screens_a_day = 0.0;  // that came in
    int weeks = 0;
    std::size_t unfinished = 0;  // runs that did not end; left out
    std::vector<std::string> kinds;
    std::vector<LeadCell> cells;  // by kind, size, entry; those without orders too
    std::vector<LeadOrder> orders;
    std::string slot_words;
};

/// @returns nullopt with `problem` when such weeks do not compile or none ends.
std::optional<LeadTable> lead_table(const model::Scenario& scenario,
                                    const LeadTableOptions& options, std::string& problem);

/// Working days (somebody has a shift) from the day of `entry` to that of `ready`; 0: the same day.
int working_days_between(const model::Room& room, core::SimTime entry, core::SimTime ready);

}  // namespace sched::study
