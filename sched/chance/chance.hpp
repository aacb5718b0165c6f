#pragma once
// What can turn out otherwise than planned, as settings. Every figure marked [M] is a default from
// the memory of the trade and meant to be replaced by the shop's own.

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/room/chance.hpp"
#include "model/room/order.hpp"
#include "model/room/room.hpp"
#include "sched/statistics/distribution.hpp"

namespace sched::study {

/// A screen is found bad at a step and goes back to stripping, or to `back_to` (to stripping too if
/// its way over again has no such step). The first rule that fits the step and the screen counts;
/// empty names fit all.
struct RemakeRule {
    model::Step at = model::Step::Inspect;
    double chance = 0.0;  // 0 .. 1
    std::string emulsion;
    std::string mesh;
    std::string coat_plan;
    std::optional<model::Step> back_to;
    friend bool operator==(const RemakeRule&, const RemakeRule&) = default;
};

/// A station breaks down; the clock of `between` runs on while it is idle.
struct FailureRule {
    std::string station;
    Distribution between;  // s from the last repair (or the start) to the next failure
    Distribution repair;   // s
    friend bool operator==(const FailureRule&, const FailureRule&) = default;
};

/// Orders that come in during the first day, each like a screen of the run made on a ready frame.
struct RushRule {
    double a_day = 0.0;                     // mean number, Poisson
    model::Seconds from = model::hours(7);  // of the day
    model::Seconds to = model::hours(14);
    int most_screens = 2;                      // 1 .. this many, equally likely
    model::Seconds allowed = model::hours(5);  // due this long after it comes in
    int weight = 5;
    friend bool operator==(const RushRule&, const RushRule&) = default;
};

/// One kind of day to plan through, with its weight.
struct DayKind {
    std::string name;  // of Climate::named_days; empty: the room's own air
    double weight = 1.0;
    std::optional<model::SimTime> past = std::nullopt;  // midnight of a day of weather.csv: its air
    friend bool operator==(const DayKind&, const DayKind&) = default;
};

struct Chance {
    /// Factor on the planned time of work with people: lognormal of mean 1 and this cv, kept in
    /// [factor_low, factor_high]. A step with StepTime::spread has a triangle of that half-width
    /// instead; a step in `factors` its own law (of the factor), a step in `times` its own times.
    double work_cv = 0.2;     // [M]
    double drying_cv = 0.1;   // [M] of the drying that a coat needs
    double machine_cv = 0.0;  // of lamps and standing times
    double scale = 1.0;       // on every factor: all takes so many times what is planned
    double factor_low = 0.4;
    double factor_high = 4.0;
    std::map<model::Step, Distribution> factors;
    /// How long the whole step takes, whatever is planned for it: its parts together, and of drying
    /// that is computed, alone in its place.
    std::map<model::Step, model::TimeLaw> times;
    std::vector<RemakeRule> remakes = {{.at = model::Step::Inspect, .chance = 0.04}};  // [M] 2-10 %
    int most_remakes = 2;  // of one screen; the next attempt is good
    std::vector<FailureRule> failures;
    double absent = 0.0;     // chance per person and day
    double film_late = 0.0;  // chance per line whose film is still to come
    Distribution film_delay = Distribution::exponential(3600.0);  // s
    RushRule rush;
    std::vector<DayKind> days;  // empty: the planned air
    friend bool operator==(const Chance&, const Chance&) = default;

    /// chance.yaml in the simulator's terms.
    static Chance of(const model::ChanceSettings& settings, const model::Scenario& scenario);

    /// No random variation at all: every factor 1, nothing happens.
    static Chance none();
};

/// Every day is as planned: no length varies, nothing fails, nobody is missing, nothing comes in.
bool nothing_by_chance(const Chance& chance);

/// The law in seconds.
Distribution time_law(const model::TimeLaw& law);
/// The same as a factor on a time. @pre planned > 0, s.
Distribution factor_law(const model::TimeLaw& law, double planned);

/// The days of weather.csv that can be drawn, at most `most` of them, evenly over the file.
std::vector<DayKind> weather_days(const model::Scenario& scenario, std::size_t most = 40);

/// The scenario with the air of that past day on every day from `start` on.
/// @param kind without `past`: the scenario as it is.
model::Scenario on_day(const model::Scenario& scenario, const DayKind& kind, model::SimTime start,
                       int days);

}  // namespace sched::study
