#include "referee.hpp"

#include <algorithm>
#include <boost/numeric/odeint/stepper/runge_kutta4.hpp>
#include <cmath>
#include <limits>
#include <random>

#include "model/physics/air.hpp"
#include "model/physics/evaporation.hpp"
#include "sched/engine/drying_clock.hpp"

namespace physics_test {

using namespace model;
using namespace model::physics;

namespace {

const Pascals referee_pressure{101325.0};

/// Own uniform draws: std distributions differ between libraries.
class Draw {
public:
    explicit Draw(std::uint64_t seed) : engine_(seed * 7919 + 17) {}
    double between(double lo, double hi) {
        return lo + (hi - lo) * static_cast<double>(engine_() >> 11) * 0x1.0p-53;
    }
    int index(int n) { return std::min(n - 1, static_cast<int>(between(0.0, n))); }

private:
    std::mt19937_64 engine_;
};

/// Film against air temperature and humidity ratio, tabulated once: driving force and conductance
/// of a unit plate.
class FilmTable {
public:
    static const FilmTable& get() {
        static const FilmTable table;
        return table;
    }
    struct Value {
        double driving, conductance;
    };
    Value at(double t, double w) const {
        const double x = std::clamp((t - t_low) / t_step, 0.0, t_count - 1.001);
        const double y = std::clamp(w / w_step, 0.0, w_count - 1.001);
        const auto i = static_cast<std::size_t>(x), j = static_cast<std::size_t>(y);
        const double fx = x - static_cast<double>(i), fy = y - static_cast<double>(j);
        const auto mix = [&](const std::vector<double>& v) {
            const auto cell = [&](std::size_t a, std::size_t b) { return v[a * w_count + b]; };
            return (1 - fx) * ((1 - fy) * cell(i, j) + fy * cell(i, j + 1)) +
                   fx * ((1 - fy) * cell(i + 1, j) + fy * cell(i + 1, j + 1));
        };
        return {mix(driving_), mix(conductance_)};
    }

private:
    static constexpr double t_low = 5.0, t_step = 0.5, w_step = 0.0005;
    static constexpr std::size_t t_count = 73, w_count = 100;
    FilmTable() : driving_(t_count * w_count), conductance_(t_count * w_count) {
        WetPlate plate;
        plate.regime = Regime::Turbulent;
        for (std::size_t i = 0; i < t_count; ++i) {
            const Celsius t{t_low + t_step * static_cast<double>(i)};
            const double saturated = saturation_ratio(t, referee_pressure);
            for (std::size_t j = 0; j < w_count; ++j) {
                const double w = w_step * static_cast<double>(j);
                if (w >= saturated) {  // condensing: nothing evaporates
                    conductance_[i * w_count + j] = j > 0 ? conductance_[i * w_count + j - 1] : 0.0;
                    continue;
                }
                const Film film = constant_rate_film(t, w, referee_pressure, plate);
                driving_[i * w_count + j] = film.driving;
                conductance_[i * w_count + j] = film.conductance();
            }
        }
    }
    std::vector<double> driving_, conductance_;
};

struct FaceState {
    double area = 0.0, conductance = 0.0;
    double solids = 0.0, critical = 0.0, equilibrium = 0.0, final = 0.0;
    bool done = true;

    double dry_at() const { return solids > 0.0 ? solids * final : 0.0; }
    double rate(double water, double least) const {
        if (solids <= 0.0) return done ? 0.0 : 1.0;
        const double x = water / solids;
        if (x >= critical) return 1.0;
        return std::max(0.0, (x - least) / (critical - least));
    }
};

}  // namespace

History random_history(std::uint64_t seed, const HistoryKind& kind) {
    Draw draw(seed);
    CabinetAir air;
    air.temperature = Celsius{draw.between(30.0, 40.0)};
    air.supply = CubicMetresPerHour{draw.between(60.0, 300.0)};
    air.speed = MetresPerSecond{draw.between(0.5, 2.0)};
    const auto weather = [&] {
        return Air{Celsius{draw.between(16.0, 27.0)}, RelativeHumidity{draw.between(0.30, 0.70)}};
    };
    History history;
    history.volume = draw.between(0.8, 2.0);
    history.hours.push_back(weather());
    const Air usual = history.hours.front();
    if (kind.changing_climate) {
        for (int hour = 1; hour < 24; ++hour) {  // drifts by at most 1.5 K and 8 points an hour
            Air next = history.hours.back();
            next.temperature.value =
                std::clamp(next.temperature.value + draw.between(-1.5, 1.5), 14.0, 29.0);
            next.humidity.value =
                std::clamp(next.humidity.value + draw.between(-0.08, 0.08), 0.25, 0.75);
            history.hours.push_back(next);
        }
    }
    if (kind.weak_heater) {
        const double fresh = air.supply.value / 3600.0 * 1.2;
        const double need = fresh * 1006.0 * (air.temperature.value - usual.temperature.value);
        air.heater = Watts{need * draw.between(0.5, 2.0)};
    }
    DryingLaw law;
    history.cabinet = make_cabinet(air, usual, referee_pressure, law);

    std::vector<sched::engine::DryingClock::Step> steps;
    for (std::size_t h = 0; h < history.hours.size(); ++h) {
        const ClockStep s = clock_step(history.cabinet, history.hours[h]);
        steps.push_back({static_cast<sched::engine::Tick>(h) * 3600, s.base, s.cap.value_or(-1.0),
                         s.cap_shift, s.crowd.value_or(-1.0), s.crowd_shift});
    }
    sched::engine::DryingClock clock(steps);
    clock.reset(0);

    Mesh mesh;
    CoatPlan plan;
    Emulsion emulsion;
    const Area frames[] = {{Centimetres{50}, Centimetres{60}},
                           {Centimetres{58}, Centimetres{84}},
                           {Centimetres{70}, Centimetres{100}}};
    const int slots = 12;
    const int wanted = 6 + draw.index(25);
    const double pace = draw.between(120.0, 900.0);
    std::vector<std::vector<sched::engine::DryingClock::Stage>> stages;
    stages.reserve(static_cast<std::size_t>(wanted));
    std::int64_t now = 0;
    for (int i = 0; i < wanted; ++i) {
        now += static_cast<std::int64_t>(draw.between(0.0, 2.0 * pace));
        clock.advance(now);
        const Area frame = frames[draw.index(3)];
        plan.print_side = 1 + draw.index(2);
        plan.squeegee_side = 1 + draw.index(4);
        emulsion.wet_film = Micrometres{draw.between(20.0, 45.0)};
        emulsion.critical_moisture = draw.between(0.3, 0.6);
        const int what = kind.free_water_only ? draw.index(2) : draw.index(5);
        if (clock.wet() >= static_cast<std::size_t>(slots)) continue;
        Screen screen;
        screen.at = now;
        switch (what) {
            case 0:
                screen.wet = wet_mesh(frame, law);
                break;
            case 1:
                screen.wet = wet_stencil(frame, law);
                break;
            case 2:
                screen.wet = wet_face_coat(emulsion, frame, law);
                break;
            default:
                screen.wet = wet_coats(mesh, plan, emulsion, frame, law);
                break;
        }
        screen.load = drying_load(history.cabinet, screen.wet);
        stages.emplace_back();
        for (const Stage& s : screen.load.stages)
            stages.back().push_back({s.work, s.share});
        clock.enter(static_cast<std::uint32_t>(history.screens.size()), stages.back());
        history.screens.push_back(screen);
    }
    clock.advance(now + 72000);
    history.clock.assign(history.screens.size(), std::numeric_limits<double>::infinity());
    for (const auto& dry : clock.dry()) {
        history.clock[dry.who] = static_cast<double>(dry.at - history.screens[dry.who].at);
    }
    return history;
}

History crowd(int screens, CubicMetresPerHour supply) {
    CabinetAir air;
    air.temperature = Celsius{36.0};
    air.supply = supply;
    const DryingLaw law;
    History history;
    history.hours.push_back({Celsius{21.0}, RelativeHumidity{0.5}});
    history.cabinet = make_cabinet(air, history.hours.front(), referee_pressure, law);
    Emulsion emulsion;
    emulsion.wet_film = Micrometres{15.0};
    Screen screen;
    screen.wet = wet_coats(Mesh{}, CoatPlan{}, emulsion, {Centimetres{58}, Centimetres{84}}, law);
    screen.load = drying_load(history.cabinet, screen.wet);
    history.screens.assign(static_cast<std::size_t>(screens), screen);
    const double seconds =
        together_seconds(screen.load, clock_step(history.cabinet, history.hours.front()), screens);
    history.clock.assign(history.screens.size(), seconds);
    return history;
}

std::vector<double> integrate(const History& history, Equations equations) {
    using State = std::vector<double>;  // water of the faces [kg/m²], then W [kg/kg], T [°C]
    const Cabinet& cabinet = history.cabinet;
    const std::size_t screens = history.screens.size();
    std::vector<FaceState> faces(2 * screens);
    State x(2 * screens + 2, 0.0);
    const std::size_t air_at = 2 * screens, heat_at = air_at + 1;
    std::vector<double> finished(screens, std::numeric_limits<double>::infinity());
    std::vector<std::size_t> inside;
    const bool coupled = equations >= Equations::FilmCoupled;
    const double empty_conductance =
        FilmTable::get()
            .at(cabinet.held.temperature.value, cabinet.held.humidity_ratio)
            .conductance;

    std::size_t hour = 0;
    double fresh = 0.0, w_in = 0.0, t_room = 0.0, stored = 0.0, setting = 0.0;
    ClockStep step;
    const auto climate = [&] {
        const Air& room = history.hours[hour];
        w_in = humidity_ratio(room.temperature, room.humidity, referee_pressure);
        t_room = room.temperature.value;
        fresh = cabinet.air.supply.value / 3600.0 /
                specific_volume(room.temperature, w_in, referee_pressure);
        setting = std::max(cabinet.air.temperature.value, t_room);
        stored = history.volume / specific_volume(Celsius{setting}, w_in, referee_pressure);
        step = clock_step(cabinet, room);
    };
    climate();
    x[air_at] = coupled ? w_in : 0.0;
    x[heat_at] =
        cabinet_state(cabinet.air, history.hours[0], referee_pressure, 0.0).temperature.value;

    const auto derivative = [&](const State& s, State& d, double) {
        std::fill(d.begin(), d.end(), 0.0);
        const double t = s[heat_at], w = s[air_at];
        double factor = 1.0, driving = 0.0;
        if (coupled) {
            const auto film = FilmTable::get().at(t, w);
            driving = film.driving;
            factor = film.conductance / empty_conductance;
        }
        const double humidity =
            equations == Equations::Sorption
                ? std::min(1.0,
                           relative_humidity(Celsius{t}, std::max(0.0, w), referee_pressure).value)
                : 0.0;
        double sum = 0.0;  // Σ K A φ
        for (std::size_t i : inside) {
            for (std::size_t f : {2 * i, 2 * i + 1}) {
                const FaceState& face = faces[f];
                const double least = equations == Equations::Sorption
                                         ? cabinet.law.sorption * humidity
                                         : face.equilibrium;
                d[f] = -face.conductance * face.rate(s[f], least);
                sum -= d[f] * face.area;
            }
        }
        const double load = sum / cabinet.half_conductance;
        if (equations == Equations::FilmHeld) {
            double rate = step.base / (1.0 + load);
            if (step.crowd) rate = std::max(rate, *step.crowd / (step.crowd_shift + load));
            if (step.cap && step.cap_shift + load > 0.0)
                rate = std::min(rate, *step.cap / (step.cap_shift + load));
            driving = rate / clock_scale;
        } else if (equations == Equations::AirStored) {
            // film held: D = base - (W - W_in), air exchanged as if by half_conductance
            driving = step.base / clock_scale - w;
            const double exchange = cabinet.half_conductance;
            d[air_at] = (sum * driving - exchange * w) / (stored * exchange / fresh);
        } else {
            const double evaporation = sum * factor * driving;
            d[air_at] = (fresh * (w_in - w) + evaporation) / stored;
            const double capacity = stored * (1006.0 + 1860.0 * w);
            const double need = fresh * (1006.0 + 1860.0 * w_in) * (t - t_room) +
                                evaporation * (2.501e6 + 1860.0 * t - 4186.0 * t_room);
            double power = need + (setting - t) * capacity / 20.0;  // a thermostat with 20 s
            if (cabinet.air.heater) power = std::min(power, cabinet.air.heater->value);
            d[heat_at] = (std::max(0.0, power) - need) / capacity;
        }
        for (std::size_t i : inside) {
            d[2 * i] *= factor * driving;
            d[2 * i + 1] *= factor * driving;
        }
    };

    boost::numeric::odeint::runge_kutta4<State> stepper;
    const double longest = 4.0;
    double now = 0.0;
    std::size_t next = 0;
    const double give_up =
        72000.0 + (screens ? static_cast<double>(history.screens.back().at) : 0.0);
    while ((next < screens || !inside.empty()) && now < give_up) {
        double until = now + longest;
        if (next < screens) until = std::min(until, static_cast<double>(history.screens[next].at));
        const double hour_end = 3600.0 * static_cast<double>(hour + 1);
        if (hour + 1 < history.hours.size()) until = std::min(until, hour_end);
        double dt = until - now;
        if (dt > 0.0) {
            State trial = x;
            stepper.do_step(derivative, trial, now, dt);
            // The first face that gets dry, or reaches its critical moisture, ends the step there
            // (linear between: exact while the rate is constant, else of second order in a short
            // step).
            double fraction = 1.0;
            std::optional<std::size_t> hit;
            for (std::size_t i : inside) {
                for (std::size_t f : {2 * i, 2 * i + 1}) {
                    const FaceState& face = faces[f];
                    for (double mark : {face.dry_at(), face.solids * face.critical}) {
                        if (mark == face.dry_at() && face.done) continue;
                        if (x[f] > mark + 1e-12 && trial[f] <= mark && x[f] > trial[f]) {
                            const double at = (x[f] - mark) / (x[f] - trial[f]);
                            if (at < fraction) {
                                fraction = at;
                                hit = f;
                            }
                        }
                    }
                }
            }
            if (hit && fraction < 1.0 && dt * fraction > 1e-6) {
                dt *= fraction;
                trial = x;
                stepper.do_step(derivative, trial, now, dt);
            }
            x = trial;
            now += dt;
        }
        for (std::size_t k = 0; k < inside.size();) {
            const std::size_t i = inside[k];
            for (std::size_t f : {2 * i, 2 * i + 1}) {
                if (!faces[f].done && x[f] <= faces[f].dry_at() + 1e-9) faces[f].done = true;
            }
            if (faces[2 * i].done && faces[2 * i + 1].done) {
                finished[i] = now - static_cast<double>(history.screens[i].at);
                inside.erase(inside.begin() + static_cast<std::ptrdiff_t>(k));
            } else {
                ++k;
            }
        }
        if (hour + 1 < history.hours.size() && now >= hour_end - 1e-9) {
            ++hour;
            climate();
        }
        while (next < screens && static_cast<double>(history.screens[next].at) <= now + 1e-9) {
            const Screen& screen = history.screens[next];
            const WetFace* sides[] = {&screen.wet.print, &screen.wet.squeegee};
            for (std::size_t side = 0; side < 2; ++side) {
                FaceState& face = faces[2 * next + side];
                face.area = screen.wet.area;
                face.conductance = face_conductance(cabinet, screen.wet.length);
                face.solids = sides[side]->solids;
                face.critical = screen.wet.critical_moisture;
                face.equilibrium = screen.load.equilibrium;
                face.final = cabinet.law.final_moisture;
                x[2 * next + side] = sides[side]->water;
                face.done = sides[side]->water <= face.dry_at();
            }
            inside.push_back(next++);
        }
    }
    return finished;
}

double Differences::quantile(double q) const {
    const double at = q * static_cast<double>(relative.size() - 1);
    return relative[static_cast<std::size_t>(std::llround(at))];
}

double Differences::within(double limit) const {
    const auto n = std::count_if(relative.begin(), relative.end(),
                                 [&](double r) { return std::abs(r) <= limit; });
    return static_cast<double>(n) / static_cast<double>(relative.size());
}

Differences compare(int histories, const HistoryKind& kind, Equations equations) {
    Differences d;
    for (int seed = 1; seed <= histories; ++seed) {
        const History history = random_history(static_cast<std::uint64_t>(seed), kind);
        const auto ode = integrate(history, equations);
        for (std::size_t i = 0; i < ode.size(); ++i) {
            d.relative.push_back((history.clock[i] - ode[i]) / ode[i]);
            d.seconds.push_back(history.clock[i] - ode[i]);
        }
    }
    std::sort(d.relative.begin(), d.relative.end());
    std::sort(d.seconds.begin(), d.seconds.end());
    return d;
}

}  // namespace physics_test
