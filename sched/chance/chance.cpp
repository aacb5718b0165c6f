// How it works: laws and rates as chance.yaml says them become distributions in the units of the
// simulation; the scenario's past weather becomes kinds of days with their weights.

#include "sched/chance/chance.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace sched::study {

namespace {

double in_units(const std::optional<model::Seconds>& t, double unit) {
    return t ? static_cast<double>(t->count()) / unit : 0.0;
}

Distribution law_in(const model::TimeLaw& law, double unit) {
    const auto unbounded = [&]() -> Distribution {
        switch (law.law) {
            case model::LawKind::Constant:
                return Distribution::constant(in_units(law.value, unit));
            case model::LawKind::Uniform:
                return Distribution::uniform(in_units(law.low, unit), in_units(law.high, unit));
            case model::LawKind::Triangle:
                return Distribution::triangular(in_units(law.low, unit), in_units(law.likely, unit),
                                                in_units(law.high, unit));
            case model::LawKind::Lognormal:
                if (law.p50 && law.p90)
                    return Distribution::lognormal_p50_p90(in_units(law.p50, unit),
                                                           in_units(law.p90, unit));
                return Distribution::lognormal(in_units(law.mean, unit), law.cv.value_or(0.0));
            case model::LawKind::Gamma:
                return Distribution::gamma(in_units(law.mean, unit), law.cv.value_or(1.0));
            case model::LawKind::Weibull: {
                const double shape = law.shape.value_or(1.0);
                return Distribution::weibull(shape,
                                             in_units(law.mean, unit) / std::tgamma(1 + 1 / shape));
            }
            case model::LawKind::Exponential:
                return Distribution::exponential(in_units(law.mean, unit));
            case model::LawKind::Observed: {
                std::vector<double> values = law.observed;
                for (double& v : values)
                    v /= unit;
                return Distribution::empirical(std::move(values));
            }
        }
        return Distribution::constant(0.0);
    }();
    if (!law.at_least && !law.at_most) return unbounded;
    return unbounded.bounded(in_units(law.at_least, unit),
                             law.at_most ? in_units(law.at_most, unit) : 1e9 / unit);
}

}  // namespace

Distribution time_law(const model::TimeLaw& law) {
    return law_in(law, 1.0);
}

Distribution factor_law(const model::TimeLaw& law, double planned) {
    return law_in(law, planned);
}

Chance Chance::none() {
    Chance c;
    c.work_cv = c.drying_cv = c.machine_cv = 0.0;
    c.remakes.clear();
    return c;
}

bool nothing_by_chance(const Chance& c) {
    return c.work_cv == 0.0 && c.drying_cv == 0.0 && c.machine_cv == 0.0 && c.scale == 1.0 &&
           c.factors.empty() && c.remakes.empty() && c.failures.empty() && c.absent == 0.0 &&
           c.film_late == 0.0 && c.rush.a_day == 0.0 && c.days.empty();
}

Chance Chance::of(const model::ChanceSettings& s, const model::Scenario& scenario) {
    Chance c;
    c.work_cv = s.work_cv.value;
    c.drying_cv = s.drying_cv.value;
    c.machine_cv = s.machine_cv.value;
    for (const auto& t : s.times) {
        for (const model::Step step : t.steps)
            c.times[step] = t.time;
    }
    if (s.remakes) {
        c.remakes.clear();
        for (const auto& r : *s.remakes) {
            for (const model::Step at : r.at) {
                c.remakes.push_back({.at = at,
                                     .chance = r.chance.value,
                                     .emulsion = r.emulsion,
                                     .mesh = r.mesh,
                                     .coat_plan = r.coat_plan,
                                     .back_to = r.back_to.empty()
                                                    ? std::nullopt
                                                    : std::optional(r.back_to.front())});
            }
        }
    }
    c.most_remakes = s.most_remakes;
    for (const auto& f : s.failures)
        c.failures.push_back({f.station, time_law(f.between), time_law(f.repair)});
    c.absent = s.absent.value;
    c.film_late = s.film_late.value;
    if (s.film_delay) c.film_delay = time_law(*s.film_delay);
    c.rush.a_day = s.rush.a_day;
    c.rush.most_screens = s.rush.most_screens;
    c.rush.allowed = s.rush.allowed;
    c.rush.weight = s.rush.weight;
    for (const auto& d : s.days)
        c.days.push_back({d.name, d.weight});
    if (s.weather_days) c.days = weather_days(scenario);
    return c;
}

std::vector<DayKind> weather_days(const model::Scenario& scenario, std::size_t most) {
    std::set<std::int64_t> dates;
    for (const auto& row : scenario.weather) {
        const auto second = row.from.time_since_epoch().count();
        // A day that begins with its first working hours unknown tells too little.
        if (second % 86'400 <= 6 * 3600) dates.insert(second / 86'400);
    }
    std::vector<DayKind> out;
    const std::vector<std::int64_t> all(dates.begin(), dates.end());
    const std::size_t n = std::min(most, all.size());
    for (std::size_t k = 0; k < n; ++k) {
        const auto day = all[k * all.size() / n];
        out.push_back(
            {.name = {}, .weight = 1.0, .past = model::SimTime{model::Seconds{day * 86'400}}});
    }
    return out;
}

model::Scenario on_day(const model::Scenario& scenario, const DayKind& kind, model::SimTime start,
                       int days) {
    if (!kind.past) return scenario;
    model::Scenario out = scenario;
    out.weather.clear();
    std::vector<model::WeatherRow> rows;
    for (const auto& row : scenario.weather) {
        if (row.from >= *kind.past && row.from < *kind.past + std::chrono::days{1})
            rows.push_back(row);
    }
    const model::SimTime first = model::midnight(model::date_of(start));
    for (int d = 0; d < days; ++d) {
        for (std::size_t k = 0; k < rows.size(); ++k) {
            auto row = rows[k];
            row.from = first + std::chrono::days{d} +
                       (k == 0 ? model::Seconds{0} : rows[k].from - *kind.past);
            out.weather.push_back(row);
        }
    }
    return out;
}

}  // namespace sched::study
