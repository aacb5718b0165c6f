// How it works: a heat and water balance of the blown air gives the air inside for a given
// evaporation; its root is bracketed and found by TOMS 748. The law of the drying clock (base,
// cap) is made to meet that balance at chosen loads.

#include "model/physics/cabinet.hpp"

#include <algorithm>
#include <array>
#include <boost/math/tools/roots.hpp>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>

#include "model/physics/air.hpp"
#include "model/physics/evaporation.hpp"

namespace model::physics {

namespace {

constexpr double liquid_heat = 4186.0;  // J/(kg K)
constexpr double coldest = -40.0;       // °C, below it the balance has left its range
constexpr double no_driving = 1e-6;     // kg/kg: saturated for all purposes
// Loads S at which the law D = base/(1 + S) meets the full balance; chosen on the referee's
// histories (docs/physics.md#agreement).
constexpr double matched_load = 0.5;
constexpr double usual_load = 0.25;
constexpr double crowded_load = 2.0;
constexpr double crowd_from = 2.5;
constexpr double crowd_to = 32.0;
constexpr double most_load = 64.0;  // more than a full cabinet weighs

/// What is blown in: fresh air, or with a working dehumidifier all the air that it treats.
struct Supply {
    double fresh = 0.0;     // dry air from the room [kg/s]
    double exchange = 0.0;  // dry air that arrives with W_in [kg/s]
    double humidity = 0.0;  // W_in
};

Supply supply_of(const CabinetAir& cabinet, const Air& room, Pascals pressure) {
    const double w_room = humidity_ratio(room.temperature, room.humidity, pressure);
    Supply s;
    s.fresh = cabinet.supply.value / 3600.0 / specific_volume(room.temperature, w_room, pressure);
    s.exchange = s.fresh;
    s.humidity = w_room;
    if (cabinet.dehumidified_to) {
        const double treated = humidity_ratio(room.temperature, *cabinet.dehumidified_to, pressure);
        if (treated < w_room) {
            s.humidity = treated;
            s.exchange = s.fresh / (1.0 - std::min(cabinet.recirculated.value, 0.99));
        }
    }
    return s;
}

/// Film temperature does not depend on speed or length, and how K changes with the air hardly does:
/// one plate stands for all.
WetPlate unit_plate() {
    WetPlate plate;
    plate.regime = Regime::Turbulent;
    return plate;
}

/// Air inside when the screens give off `evaporation`.
class Balance {
public:
    /// @param unit_conductance K_0 that the screens are given; nullopt: that of this empty cabinet.
    Balance(const CabinetAir& cabinet, const Air& room, Pascals pressure,
            std::optional<double> unit_conductance = std::nullopt)
        : cabinet_(cabinet),
          room_(room),
          pressure_(pressure),
          supply_(supply_of(cabinet, room, pressure)),
          setting_(Celsius{std::max(cabinet.temperature.value, room.temperature.value)}) {
        if (unit_conductance) {
            unit_conductance_ = *unit_conductance;
        } else if (const CabinetState empty = state(0.0); empty.driving >= no_driving) {
            unit_conductance_ = film_in(empty).conductance();
        }
    }

    double unit_conductance() const { return unit_conductance_; }

    CabinetState state(double evaporation) const {
        CabinetState s;
        s.evaporation = evaporation;
        s.humidity_ratio = supply_.humidity + evaporation / supply_.exchange;
        s.temperature = setting_;
        if (cabinet_.heater) {
            // fresh air and vapour heated by the power there is (liquid enters at room temperature)
            const double air = supply_.fresh * (1006.0 + 1860.0 * supply_.humidity);
            const double t_room = room_.temperature.value;
            const double reached = (cabinet_.heater->value + air * t_room -
                                    evaporation * (2.501e6 - liquid_heat * t_room)) /
                                   (air + 1860.0 * evaporation);
            if (reached < setting_.value - 1e-9) {
                s.temperature = Celsius{reached};
                s.heater_at_limit = true;
            }
        }
        const bool freezing = s.temperature.value < coldest;
        if (!freezing && s.humidity_ratio < saturation_ratio(s.temperature, pressure_)) {
            const Film film = film_in(s);
            s.driving = std::max(0.0, film.driving);
            s.pull =
                unit_conductance_ > 0.0 ? std::max(0.0, film.flux) / unit_conductance_ : s.driving;
        }
        s.humidity = freezing ? RelativeHumidity{1.0}
                              : relative_humidity(s.temperature, s.humidity_ratio, pressure_);
        return s;
    }

    /// Root of a decreasing f(state) over the evaporation.
    template <class F>
    CabinetState find(F f) const {
        const auto g = [&](double e) { return f(state(e)); };
        if (g(0.0) <= 0.0) return state(0.0);
        std::uintmax_t most = 200;
        const auto [a, b] = boost::math::tools::toms748_solve(
            g, 0.0, most_evaporation(), boost::math::tools::eps_tolerance<double>(44), most);
        return state(0.5 * (a + b));
    }

private:
    Film film_in(const CabinetState& s) const {
        return constant_rate_film(s.temperature, s.humidity_ratio, pressure_, unit_plate());
    }
    /// More than this cannot leave: the air would be saturated at the setting.
    double most_evaporation() const {
        return std::max(
            0.0, supply_.exchange * (saturation_ratio(setting_, pressure_) - supply_.humidity));
    }

    const CabinetAir& cabinet_;
    const Air& room_;
    Pascals pressure_;
    Supply supply_;
    Celsius setting_;
    double unit_conductance_ = 0.0;  // 0: nothing dries, K does not matter
};

CabinetState loaded(const Balance& balance, double conductance) {
    return balance.find(
        [&](const CabinetState& s) { return conductance * s.pull - s.evaporation; });
}

CabinetAir without_heater_limit(CabinetAir air) {
    air.heater.reset();
    return air;
}

/// rate = top / (shift + S)
struct Hyperbola {
    double top;
    double shift;
};

/// Through two loads a < b; nullopt where it would not fall, or has left the range.
std::optional<Hyperbola> through(double a, double rate_a, double b, double rate_b) {
    if (rate_b <= 0.0 || rate_a <= rate_b) return std::nullopt;
    const double shift = std::max(0.0, (rate_b * b - rate_a * a) / (rate_a - rate_b));
    return Hyperbola{rate_b * (shift + b), shift};
}

}  // namespace

CabinetState cabinet_state(const CabinetAir& cabinet, const Air& room, Pascals pressure,
                           double conductance) {
    assert(cabinet.temperature.value <= 40.0 && cabinet.supply.value > 0.0 && conductance >= 0.0);
    return loaded(Balance(cabinet, room, pressure), conductance);
}

CabinetState state_at(const Cabinet& cabinet, const Air& room, double load) {
    const Balance balance(cabinet.air, room, cabinet.pressure, cabinet.unit_conductance);
    return loaded(balance, load * cabinet.half_conductance);
}

Cabinet make_cabinet(const CabinetAir& air, const Air& reference, Pascals pressure,
                     const DryingLaw& law) {
    assert(air.temperature.value <= 40.0 && air.supply.value > 0.0);
    Cabinet cabinet;
    cabinet.air = air;
    cabinet.reference = reference;
    cabinet.pressure = pressure;
    cabinet.law = law;
    // While the setting is held the heater's power plays no part in the law: what a load then costs
    // is the cap's.
    const CabinetAir strong = without_heater_limit(air);
    const Balance held(strong, reference, pressure);
    cabinet.unit_conductance = held.unit_conductance();
    cabinet.held = held.state(0.0);
    cabinet.empty = cabinet.usual =
        Balance(air, reference, pressure, cabinet.unit_conductance).state(0.0);
    if (cabinet.held.driving < no_driving || cabinet.empty.driving < no_driving) return cabinet;
    const double reduced = cabinet.held.pull / (1.0 + matched_load);
    const CabinetState matched = held.find([&](const CabinetState& s) { return s.pull - reduced; });
    cabinet.base = clock_scale * cabinet.held.pull;
    cabinet.half_conductance = matched.evaporation / matched.pull / matched_load;
    cabinet.usual_held = loaded(held, usual_load * cabinet.half_conductance).pull;
    cabinet.usual = state_at(cabinet, reference, usual_load);
    return cabinet;
}

ClockStep clock_step(const Cabinet& cabinet, const Air& room) {
    ClockStep step;
    if (cabinet.base <= 0.0) {  // no reference: the empty cabinet's force, if there is any
        const double empty = Balance(cabinet.air, room, cabinet.pressure).state(0.0).driving;
        step.base = empty < no_driving ? 0.0 : clock_scale * empty;
        return step;
    }
    if (state_at(cabinet, room, usual_load).pull < no_driving) return step;
    const CabinetAir strong = without_heater_limit(cabinet.air);
    const Balance held(strong, room, cabinet.pressure, cabinet.unit_conductance);
    const auto pull_held = [&](double load) {
        return loaded(held, load * cabinet.half_conductance).pull;
    };
    step.base = room == cabinet.reference
                    ? cabinet.base
                    : cabinet.base * pull_held(usual_load) / cabinet.usual_held;
    if (const auto crowd = through(crowd_from, clock_scale * pull_held(crowd_from), crowd_to,
                                   clock_scale * pull_held(crowd_to))) {
        step.crowd = crowd->top;
        step.crowd_shift = std::max(crowd->shift, 1e-3);
    }
    if (!cabinet.air.heater) return step;
    // Where the heater's power limits, the air inside cools as more evaporates: another hyperbola,
    // through the point where that begins and through a crowded cabinet.
    const auto limited = [&](double load) { return state_at(cabinet, room, load).heater_at_limit; };
    double begins = usual_load;
    if (!limited(begins)) {
        double free = begins;
        double bound = most_load;
        if (!limited(bound)) return step;
        while (bound - free > 1e-6 * bound) {
            const double middle = 0.5 * (free + bound);
            (limited(middle) ? bound : free) = middle;
        }
        begins = bound;
    }
    const double crowd = std::max(crowded_load, 2.0 * begins);
    if (const auto cap = through(begins, clock_scale * state_at(cabinet, room, begins).pull, crowd,
                                 clock_scale * state_at(cabinet, room, crowd).pull)) {
        step.cap = cap->top;
        step.cap_shift = cap->shift;
    }
    return step;
}

namespace {

// All that clock_step reads of its arguments.
using StepKey = std::array<double, 18>;

StepKey key_of(const Cabinet& c, const Air& room) {
    return {c.air.temperature.value,
            c.air.supply.value,
            c.air.recirculated.value,
            c.air.speed.value,
            c.air.heater ? 1.0 : 0.0,
            c.air.heater ? c.air.heater->value : 0.0,
            c.air.dehumidified_to ? 1.0 : 0.0,
            c.air.dehumidified_to ? c.air.dehumidified_to->value : 0.0,
            c.air.transfer_factor,
            c.reference.temperature.value,
            c.reference.humidity.value,
            c.pressure.value,
            c.base,
            c.half_conductance,
            c.unit_conductance,
            c.usual_held,
            room.temperature.value,
            room.humidity.value};
}

constexpr std::size_t most_known = 50'000;  // some 15 MB

}  // namespace

ClockStep known_clock_step(const Cabinet& cabinet, const Air& room) {
    static std::mutex mutex;
    static std::map<StepKey, ClockStep> known;
    const StepKey key = key_of(cabinet, room);
    {
        const std::lock_guard lock(mutex);
        if (const auto found = known.find(key); found != known.end()) return found->second;
    }
    const ClockStep step = clock_step(cabinet, room);
    const std::lock_guard lock(mutex);
    if (known.size() >= most_known) known.clear();
    known.emplace(key, step);
    return step;
}

double face_conductance(const Cabinet& cabinet, double length) {
    const CabinetState& s = cabinet.held;
    WetPlate plate = unit_plate();
    const Film balanced =
        constant_rate_film(s.temperature, s.humidity_ratio, cabinet.pressure, plate);
    plate.regime = Regime::Fan;
    plate.speed = cabinet.air.speed;
    plate.length = length;
    const Film film =
        film_at(balanced.temperature, s.temperature, s.humidity_ratio, cabinet.pressure, plate);
    // Saturated air has no K by definition; 1.15 kg/m³ of air makes one of h_m.
    const double k = film.driving > no_driving ? film.conductance() : film.mass_coefficient * 1.15;
    return cabinet.air.transfer_factor * k;
}

DryingLoad drying_load(const Cabinet& cabinet, const WetScreen& screen) {
    const double k = face_conductance(cabinet, screen.length);
    const double wanted = cabinet.law.sorption * std::min(1.0, cabinet.usual.humidity.value);
    const double least_margin = 0.1 * cabinet.law.final_moisture;
    const double equilibrium = std::min(wanted, cabinet.law.final_moisture - least_margin);
    const auto dry = [&](const WetFace& face) {
        return face_drying(face, screen.critical_moisture, equilibrium, cabinet.law.final_moisture,
                           k);
    };
    const double share = k * screen.area / cabinet.half_conductance;
    DryingLoad load = stages_of(dry(screen.print), dry(screen.squeegee), share);
    const bool film = screen.print.solids > 0.0 || screen.squeegee.solids > 0.0;
    load.reachable = cabinet.base > 0.0 && !(film && wanted > equilibrium);
    load.equilibrium = equilibrium;
    load.conductance = k;
    return load;
}

Governs governs(const Cabinet& cabinet, const Air& room, double load) {
    const CabinetState state = state_at(cabinet, room, load);
    if (state.heater_at_limit) return Governs::Heater;
    return load > 1.0 ? Governs::AirExchange : Governs::Transfer;
}

const char* words(Governs g) {
    switch (g) {
        case Governs::Transfer:
            return "transfer from the film to the air";
        case Governs::AirExchange:
            return "air exchange";
        case Governs::Heater:
            return "heater power";
    }
    return "";
}

}  // namespace model::physics
