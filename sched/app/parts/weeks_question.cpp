#include "sched/app/parts/weeks_question.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <memory>

#include "model/read/chance_file.hpp"
#include "sched/advise/feasibility.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/interrupt.hpp"

namespace sched::app {

namespace {

// Without a word of arrivals as many orders come in a day as the scenario has. A list of several
// days' orders makes that several times too many.
void warn_of_several_days(const model::Scenario& scenario, model::Diagnostics& diagnostics) {
    std::map<model::LocalDate, std::size_t> due;  // orders
    for (const model::Order& order : scenario.orders)
        ++due[model::date_of(order.due)];
    const std::size_t orders = scenario.orders.size();
    const auto most = std::max_element(
        due.begin(), due.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
    if (due.size() < 3 || 2 * most->second > orders) return;
    const double share = static_cast<double>(orders) / static_cast<double>(due.size());
    diagnostics.warning(
        scenario.orders.front().place, "orders-of-days",
        fmt::format("the {} orders of orders.csv are due on {} days, and as many are taken to come "
                    "in every working day.",
                    orders, due.size()),
        fmt::format("If they are the orders of {0} days, write arrivals into chance.yaml, or ask "
                    "coatroom weeks with --orders-a-day {1:.1f}, promise --table with --load "
                    "{2:.0f}.",
                    due.size(), share, 100.0 / static_cast<double>(due.size())));
}

}  // namespace

std::optional<WeeksQuestion> weeks_question(const model::Scenario& scenario, std::uint64_t seed,
                                            const std::string& rule,
                                            model::Diagnostics& diagnostics, bool load_said,
                                            bool quiet) {
    const auto files = model::read_chance(scenario, diagnostics);
    if (!files) return std::nullopt;
    if (!load_said && files->chance.arrivals.empty() && files->past.empty())
        warn_of_several_days(scenario, diagnostics);
    WeeksQuestion out;
    study::LongRunOptions& options = out.options;
    options.seed = seed;
    options.chance = study::Chance::of(files->chance, scenario);
    options.allowed = files->chance.promised;
    options.arrivals = study::arrivals_of(files->chance, files->past, scenario);
    for (const auto& row : study::long_run_rules()) {
        if (row.name == rule) options.rule = row.rule;
    }
    options.longer = 32;
    options.stop = [] { return interrupted(); };
    options.progress = [quiet, line = std::make_shared<ProgressLine>()](int day, int of) {
        known_so_far("Only " + std::to_string(day) + " of " + std::to_string(of) +
                     " days had been simulated: too few to say anything.");
        if (day % 10 == 0 && !quiet)
            line->show("simulating day " + std::to_string(day) + " of " + std::to_string(of));
    };
    out.compile.start =
        day_of_plan({.command = "weeks", .typical_day = true, .many_days = true}, scenario)
            .value_or(model::SimTime{});
    return out;
}

std::optional<std::string> never_done(model::Scenario scenario, compile::CompileOptions options) {
    // Shifts are weekly: two weeks without anything that has a date show all that will ever be.
    for (auto& station : scenario.room.stations)
        station.closed.clear();
    for (auto& person : scenario.room.people)
        person.absent.clear();
    for (auto& stock : scenario.frames)
        stock.from.reset();
    for (auto& order : scenario.orders) {
        for (auto& line : order.lines)
            line.film_ready.reset();
    }
    options.days = 14;
    model::Diagnostics said_before;
    const auto room = compile::compile_room(scenario, options, said_before);
    if (!room) return std::nullopt;
    const auto found = search::find_impossible(room->problem);
    if (!found) return std::nullopt;
    return found->words +
           " Let somebody else do it (`can`), change hours (`shifts`, `closed`) or " +
           "sizes, or put the order on hold (hold: yes in orders.csv).";
}

}  // namespace sched::app
