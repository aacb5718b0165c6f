// Computed drying, integrated once more from the document alone: which wet screens hang in a
// cabinet at each moment, how fast its air then takes their water (the formulas of model/physics),
// in steps of time, with the smooth falling rate. The planner's own clock (stages, virtual time) is
// not asked.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "model/physics/cabinet.hpp"
#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace physics = model::physics;

namespace {

// The stages weigh on the neighbours in steps, here they do so smoothly; and whole seconds.
constexpr double tolerance = 0.03;
constexpr double rounding_s = 5.0;
constexpr double longest_step_s = 15.0;

struct Wet {
    int operation = 0;
    double from = 0.0, leaves = 0.0, planned = 0.0;  // s after the run began
    bool told = false;  // the lead says that it is dry, from `planned` on
    physics::DryingLoad load;
    double clock = 0.0;  // units of drying that it has had
    double dry = -1.0;   // s after the run began; below 0: still wet
    double share() const {
        return load.share_of_face * (load.print.rate(clock) + load.squeegee.rate(clock));
    }
};

double seconds_in(const Case& c, SimTime t) {
    return static_cast<double>((t - c.d.run.from).count());
}

// The air that the cabinets take in at t. Where weather.csv has a line, it wins.
struct Weather {
    const Case& c;
    const model::Air& at(double t) const {
        const auto& climate = *c.room.climate;
        if (c.d.run.day) {
            const auto named = climate.named_days.find(*c.d.run.day);
            if (named != climate.named_days.end()) return named->second;
        }
        const auto after = first_after(t);
        return after == c.s.weather.begin() ? climate.air : std::prev(after)->air;
    }
    double next_change(double t) const {
        if (c.d.run.day) return 1e18;
        const auto after = first_after(t);
        return after == c.s.weather.end() ? 1e18 : seconds_in(c, after->from);
    }
    // The lines stand in the order of time: whoever reads them holds to that.
    std::vector<model::WeatherRow>::const_iterator first_after(double t) const {
        return std::upper_bound(
            c.s.weather.begin(), c.s.weather.end(), t,
            [&](double s, const model::WeatherRow& row) { return s < seconds_in(c, row.from); });
    }
};

// Units of drying a second at a load: the law of model/physics, asked how long one unit takes.
double speed(const physics::ClockStep& step, double load) {
    static const physics::DryingLoad one_unit{.stages = {{.work = 1.0, .share = 0.0}}};
    return step.base > 0.0 ? 1.0 / physics::drying_seconds(one_unit, step, load) : 0.0;
}

void integrate(const Case& c, const physics::Cabinet& cabinet, std::vector<Wet>& screens) {
    const Weather weather{c};
    double t = 1e18, last = 0.0;
    std::vector<Wet*> to_come, hang;  // by when they come, the last first; those that are wet
    for (Wet& w : screens) {
        t = std::min(t, w.from);
        last = std::max(last, w.leaves);
        to_come.push_back(&w);
    }
    std::stable_sort(to_come.begin(), to_come.end(),
                     [](const Wet* a, const Wet* b) { return a->from > b->from; });
    last += 86400.0;
    while (t < last) {
        const auto step = physics::known_clock_step(cabinet, weather.at(t));
        const double air_until = weather.next_change(t);
        while (t < std::min(air_until, last)) {
            double load = 0.0, until = std::min(air_until, last);
            std::vector<Wet*> inside;
            for (; !to_come.empty() && to_come.back()->from <= t; to_come.pop_back())
                hang.push_back(to_come.back());
            if (!to_come.empty()) until = std::min(until, to_come.back()->from);
            for (Wet* w : hang) {
                if (w->told && w->dry < 0.0 && w->planned <= t) w->dry = w->planned;
                if (w->dry >= 0.0) continue;
                if (w->told) until = std::min(until, w->planned);
                if (w->leaves <= t) continue;
                until = std::min(until, w->leaves);
                inside.push_back(w);
                load += w->share();
            }
            std::erase_if(
                hang, [&](const Wet* w) { return w->dry >= 0.0 || (w->leaves <= t && !w->told); });
            if (inside.empty()) {
                t = until;
                continue;
            }
            // Midpoint: the weights half a step further on.
            double dt = std::min(longest_step_s, until - t);
            const double half = 0.5 * dt * speed(step, load);
            double mid = 0.0;
            for (Wet* w : inside) {
                w->clock += half;
                if (w->clock < w->load.work()) mid += w->share();
                w->clock -= half;
            }
            const double rate = speed(step, mid);
            for (Wet* w : inside) {
                const double left = w->load.work() - w->clock;
                if (rate > 0.0 && left <= rate * dt) w->dry = t + left / rate;
                w->clock += rate * dt;
            }
            t += dt;
        }
    }
    // What had left before it was dry: how long it would have taken at the speed of the end.
    for (Wet& w : screens) {
        if (w.dry < 0.0 && w.clock > 0.0 && w.leaves > w.from)
            w.dry = w.from + (w.leaves - w.from) * w.load.work() / w.clock;
    }
}

physics::WetScreen wet_screen(const Case& c, Step step, const ScreenCase& x) {
    const auto& law = c.room.drying;
    if (step == Step::DryCoat)
        return physics::wet_coats(*x.mesh, *x.plan, *x.emulsion, x.frame, law);
    if (step == Step::DryFace) return physics::wet_face_coat(*x.emulsion, x.frame, law);
    return step == Step::DryMesh ? physics::wet_mesh(x.frame, law)
                                 : physics::wet_stencil(x.frame, law);
}

bool is_typed(const Case& c, Step step, const ScreenCase& x) {
    const auto named = c.room.steps.find(step);
    return (named != c.room.steps.end() && named->second.stand_said) ||
           (step == Step::DryCoat && x.plan->dry_coat) ||
           (step == Step::DryFace && x.plan->dry_face);
}

void judge_cabinet(const Case& c, const model::Station& station) {
    const auto& climate = *c.room.climate;
    const auto named =
        c.d.run.day ? climate.named_days.find(*c.d.run.day) : climate.named_days.end();
    const auto cabinet = physics::make_cabinet(
        *station.air, named == climate.named_days.end() ? climate.air : named->second,
        climate.pressure, c.room.drying);
    std::vector<Wet> screens;
    for (const ScreenCase& x : c.screens) {
        if (!x.known()) continue;
        for (const Stage& stage : x.stages) {
            const int dry = trade(stage.step).dries ? c.quiet_part(stage) : -1;
            if (dry < 0 || c.op(dry).place != station.name || is_typed(c, stage.step, x)) continue;
            const OperationLine& line = c.op(dry);
            screens.push_back(
                {.operation = dry,
                 .from = seconds_in(c, line.start),
                 .leaves = seconds_in(c, line.end),
                 .planned = seconds_in(c, line.work_end),
                 .told = !c.begins_later(dry) && c.d.again && line.work_end <= c.d.again->now,
                 .load = physics::drying_load(cabinet, wet_screen(c, stage.step, x))});
        }
    }
    if (screens.empty()) return;
    integrate(c, cabinet, screens);
    for (const Wet& w : screens) {
        if (!c.begins_later(w.operation)) continue;
        const double wanted = w.dry - w.from;
        const double planned = w.planned - w.from;
        if (w.dry >= 0.0 && std::abs(wanted - planned) <= tolerance * wanted + rounding_s) continue;
        c.say("drying",
              fmt::format("{} takes {} in {} as it is filled, planned are {}.",
                          c.op(w.operation).words,
                          w.dry < 0.0 ? std::string("for ever")
                                      : model::format_duration(model::round_up(wanted)),
                          station.name, model::format_duration(model::round_up(planned))));
    }
}

}  // namespace

void judge_drying(Case& c) {
    if (!c.room.climate) return;
    for (const model::Station& station : c.room.stations) {
        if (station.air) judge_cabinet(c, station);
    }
}

}  // namespace sched::check::room
