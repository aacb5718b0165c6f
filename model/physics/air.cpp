#include "model/physics/air.hpp"

#include <boost/math/tools/roots.hpp>
#include <cassert>
#include <cmath>
#include <cstdint>

namespace model::physics {

namespace {

constexpr double zero_celsius = 273.15;
constexpr double triple_point = 0.01;
constexpr double dry_air_constant = 287.042;  // J/(kg K)

/// Root of an f that changes sign on [lo, hi], to the last bits.
template <class F>
double root_between(F f, double lo, double hi) {
    std::uintmax_t most = 200;
    const auto [a, b] = boost::math::tools::toms748_solve(
        f, lo, hi, boost::math::tools::eps_tolerance<double>(48), most);
    return 0.5 * (a + b);
}

/// W of air at t whose wet bulb is tw (eq. 33; eq. 35 below the triple point).
double ratio_from_wet_bulb(double t, double tw, Pascals total) {
    const double ws = saturation_ratio(Celsius{tw}, total);
    if (tw >= triple_point)
        return ((2501.0 - 2.326 * tw) * ws - 1.006 * (t - tw)) / (2501.0 + 1.86 * t - 4.186 * tw);
    return ((2830.0 - 0.24 * tw) * ws - 1.006 * (t - tw)) / (2830.0 + 1.86 * t - 2.1 * tw);
}

}  // namespace

Pascals pressure_at_altitude(double metres) {
    return Pascals{101325.0 * std::pow(1.0 - 2.25577e-5 * metres, 5.2559)};
}

Pascals saturation_pressure(Celsius t) {
    const double k = t.value + zero_celsius;
    if (t.value < triple_point) {
        return Pascals{std::exp(
            -5.6745359e3 / k + 6.3925247 +
            k * (-9.6778430e-3 + k * (6.2215701e-7 + k * (2.0747825e-9 - 9.4840240e-13 * k))) +
            4.1635019 * std::log(k))};
    }
    return Pascals{std::exp(-5.8002206e3 / k + 1.3914993 +
                            k * (-4.8640239e-2 + k * (4.1764768e-5 - 1.4452093e-8 * k)) +
                            6.5459673 * std::log(k))};
}

double humidity_ratio(Pascals vapour, Pascals total) {
    assert(vapour < total);
    return water_to_air_mass * vapour.value / (total.value - vapour.value);
}

double humidity_ratio(Celsius t, RelativeHumidity rh, Pascals total) {
    return humidity_ratio(saturation_pressure(t) * rh.value, total);
}

double saturation_ratio(Celsius t, Pascals total) {
    return humidity_ratio(saturation_pressure(t), total);
}

Pascals vapour_pressure(double w, Pascals total) {
    return Pascals{total.value * w / (water_to_air_mass + w)};
}

RelativeHumidity relative_humidity(Celsius t, double w, Pascals total) {
    return RelativeHumidity{vapour_pressure(w, total) / saturation_pressure(t)};
}

Celsius dew_point(Pascals vapour) {
    assert(vapour.value > 0.0);
    const double target = std::log(vapour.value);
    const auto f = [&](double t) {
        return std::log(saturation_pressure(Celsius{t}).value) - target;
    };
    return Celsius{root_between(f, -100.0, 200.0)};
}

Celsius wet_bulb(Celsius t, double w, Pascals total) {
    assert(w >= 0.0);
    const auto f = [&](double tw) { return ratio_from_wet_bulb(t.value, tw, total) - w; };
    if (f(t.value) <= 0.0) return t;  // saturated
    return Celsius{root_between(f, t.value - 60.0, t.value)};
}

double enthalpy(Celsius t, double w) {
    return 1e3 * (1.006 * t.value + w * (2501.0 + 1.86 * t.value));
}

Celsius temperature_of(double joules_per_kg, double w) {
    return Celsius{(joules_per_kg * 1e-3 - 2501.0 * w) / (1.006 + 1.86 * w)};
}

double specific_volume(Celsius t, double w, Pascals total) {
    return dry_air_constant * (t.value + zero_celsius) * (1.0 + 1.607858 * w) / total.value;
}

double moist_density(Celsius t, double w, Pascals total) {
    return (1.0 + w) / specific_volume(t, w, total);
}

Celsius from_fahrenheit(double f) {
    return Celsius{(f - 32.0) * 5.0 / 9.0};
}

double to_fahrenheit(Celsius t) {
    return t.value * 9.0 / 5.0 + 32.0;
}

}  // namespace model::physics
