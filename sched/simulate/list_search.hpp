#pragma once
// The order of work that costs least on the days that may come. A list of work gives every
// operation a turn; whoever is free takes what has the lowest (Policy::list). What a list is worth
// is the mean of the room's aims over simulated days, the same for all lists (common random
// numbers).

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sched/simulate/replicate.hpp"

namespace sched::study {

struct ListSearchOptions {
    std::int64_t days = 20'000;  // simulated, at most: what the search may cost
    std::uint64_t seed = 1;      // of the days and of the moves
    int threads = 1;
    bool by_starts = true;  // turns are planned starts: the order of the sheets
    int lists = 7;       // that come back: the searched one, then the best of those it began with
    int spare_days = 3;  // added to the horizon, so that what is late still ends
    std::vector<double> posted;      // a list to begin with besides, per operation of the run, s
    std::vector<std::size_t> first;  // operations that go before all others, in this order
    Chance chance;
    std::function<bool()> stop;  // asked between lists
    /// Share of the time that the search has, 0 to 1; unset: `days` is what it has.
    std::function<double()> spent;
    /// From time to time: days simulated, lists tried, mean of the first aim over the last lists.
    std::function<void(std::int64_t days, std::int64_t lists, double value)> progress;
};

/// Gives them the lowest turns, in this order.
void put_first(const std::vector<std::size_t>& first, std::vector<double>& turns);

/// One list. Turns in s after the epoch, as planned starts are.
struct WorkList {
    std::vector<double> turns;      // per operation of the run
    std::string words;              // where it came from: "earliest due date first"
    std::vector<double> objective;  // mean per criterion over `days` days, those of the search
    std::size_t days = 0;
    double cost = 0.0;  // cost_of_day(), mean over these days
};

struct ListSearchResult {
    /// The searched one, then those it began with, cheapest first; empty: no list leads to an end.
    std::vector<WorkList> best;
    /// What the first of `best` costs less than the first of the plans to begin with, mean of
    /// cost_of_day() over the days that both have; none: there is no such plan, or day.
    std::optional<double> saved;
    std::int64_t days = 0;   // simulated
    std::int64_t lists = 0;  // tried
};

/// The starts of a plan as turns, s: whoever begins first goes first.
std::vector<double> starts_in_seconds(const core::Schedule& plan);

/// Per criterion; of a day that did not end what lies behind that.
std::vector<std::int64_t> objective_of_day(const core::Problem& problem, const Replication& day);

/// All aims of a day in one number: the first in hours or orders, each next a tenth of it. A day
/// that did not end costs as much as everything at the end of the horizon.
double cost_of_day(const core::Problem& problem, const Replication& day);

/// @param room the run, its breaks in place.
/// @param plans schedules of it to begin with (good ones on paper), may be empty.
/// @returns nullopt where replicate() does. Same result for the same seed and days whatever the
/// number of threads, unless `stop` ends it.
std::optional<ListSearchResult> search_lists(const model::Scenario& scenario,
                                             const compile::CompileOptions& compile_options,
                                             const compile::RoomProblem& room,
                                             const std::vector<core::Schedule>& plans,
                                             const ListSearchOptions& options);

}  // namespace sched::study
