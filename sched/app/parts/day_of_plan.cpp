#include "sched/app/parts/day_of_plan.hpp"

#include <cstdio>
#include <ctime>

#include "model/room/working_day.hpp"

namespace sched::app {

namespace {

SimTime local_clock() {
    const SimTime t = clock_of_machine();
    return t - model::time_of_day(t) % model::minutes(1);
}

}  // namespace

// Summer time shifts the room's clock as it shifts the clock on the wall.
SimTime clock_of_machine() {
    const std::time_t now = std::time(nullptr);
    std::tm local{};
    localtime_r(&now, &local);
    const model::LocalDate date{std::chrono::year{local.tm_year + 1900},
                                std::chrono::month{static_cast<unsigned>(local.tm_mon + 1)},
                                std::chrono::day{static_cast<unsigned>(local.tm_mday)}};
    return model::midnight(date) + model::hours(local.tm_hour) + model::minutes(local.tm_min) +
           model::Seconds{local.tm_sec};
}

namespace {

// Of whatever day it is: a plan of the whole day begins with that day's work.
SimTime begun_with(const DayWords& words, const model::Scenario& scenario, SimTime midnight) {
    return words.now.empty() && !words.many_days
               ? model::run_begin(scenario.room, scenario.orders, model::date_of(midnight))
               : midnight;
}

}  // namespace

std::optional<SimTime> day_of_plan(const DayWords& words, const model::Scenario& scenario,
                                   SimTime clock) {
    if (!words.from.empty()) {
        const auto t = model::parse_date_time(words.from);
        if (!t) {
            std::fprintf(stderr,
                         "coatroom %s: --from %s is no local date and time. Write it as "
                         "2026-11-26T10:40.\n",
                         words.command, words.from.c_str());
        }
        return t;
    }
    if (!words.date.empty()) {
        const auto d = model::parse_date(words.date);
        if (!d) {
            std::fprintf(stderr, "coatroom %s: --date %s is no date. Write it as 2026-11-26.\n",
                         words.command, words.date.c_str());
            return std::nullopt;
        }
        return begun_with(words, scenario, model::midnight(*d));
    }
    if (scenario.room.day) return begun_with(words, scenario, model::midnight(*scenario.room.day));
    if (words.typical_day) {
        if (const auto first = model::first_due_day(scenario.orders))
            return begun_with(words, scenario, *first);
    }
    if (!words.now.empty()) {
        const auto t = model::parse_date_time(words.now);
        return model::midnight(model::date_of(t.value_or(clock)));
    }
    return begun_with(words, scenario, model::next_working_day(scenario.room, clock));
}

model::RunDay run_day(const DayWords& words) {
    const SimTime clock = local_clock();
    for (const std::string& said : {words.from, words.date}) {
        if (const auto t = model::parse_date_time(said))
            return {model::midnight(model::date_of(*t)), clock};
        if (const auto d = model::parse_date(said)) return {model::midnight(*d), clock};
    }
    if (!words.now.empty()) {
        const auto t = model::parse_date_time(words.now);
        return {.clock = model::midnight(model::date_of(t.value_or(clock)))};
    }
    return {.clock = clock};
}

std::optional<SimTime> day_of_plan(const DayWords& words, const model::Scenario& scenario) {
    return day_of_plan(words, scenario, local_clock());
}

}  // namespace sched::app
