// How it works: properties of moist air at the film's temperature give the numbers of mass and
// heat transfer, forced and natural mixed; the film temperature is where heat in and heat of
// evaporation out balance (TOMS 748).

#include "model/physics/evaporation.hpp"

#include <algorithm>
#include <boost/math/tools/roots.hpp>
#include <cassert>
#include <cmath>
#include <cstdint>

#include "model/physics/air.hpp"

namespace model::physics {

namespace {

constexpr double kelvin = 273.15;
constexpr double vapour_constant = 461.526;   // J/(kg K)
constexpr double dry_constant = 287.042;      // J/(kg K)
constexpr double air_heat_capacity = 1007.0;  // J/(kg K)
constexpr double stefan_boltzmann = 5.670374e-8;
constexpr double transition = 5e5;
constexpr double turbulent_from = 1e4;

double dry_density(Celsius t, Pascals total) {
    return total.value / (dry_constant * (t.value + kelvin));
}

/// Churchill & Chu 1975, laminar range, for Sc or Pr.
double still_number(double grashof, double schmidt) {
    return 0.68 + 0.670 * std::pow(grashof * schmidt, 0.25) /
                      std::pow(1.0 + std::pow(0.492 / schmidt, 9.0 / 16.0), 4.0 / 9.0);
}

/// Moist density with the mixture's molar mass, as the Grashof number needs it.
double mixture_density(Celsius t, Pascals vapour, Pascals total) {
    return (total.value - (1.0 - water_to_air_mass) * vapour.value) /
           (dry_constant * (t.value + kelvin));
}

struct Numbers {
    double nusselt, sherwood, grashof;
};

Numbers transfer_numbers(Celsius film, Celsius t, double w, Pascals total, const WetPlate& plate,
                         const AirProperties& air, double reynolds) {
    const auto forced = [&](Regime regime) {
        const double f = plate_factor(reynolds, regime);
        return Numbers{f * std::cbrt(air.prandtl()), f * std::cbrt(air.schmidt()), 0.0};
    };
    const auto still = [&] {
        const Pascals at_film = saturation_pressure(film);
        const Pascals in_air = vapour_pressure(w, total);
        const Celsius mean = 0.5 * (film + t);
        const double difference =
            std::abs(mixture_density(film, at_film, total) - mixture_density(t, in_air, total)) /
            mixture_density(mean, 0.5 * (at_film + in_air), total);
        const double grashof =
            9.81 * difference * std::pow(plate.length, 3.0) / (air.viscosity * air.viscosity);
        return Numbers{still_number(grashof, air.prandtl()), still_number(grashof, air.schmidt()),
                       grashof};
    };
    switch (plate.regime) {
        case Regime::Laminar:
        case Regime::Mixed:
        case Regime::Turbulent:
            return forced(plate.regime);
        case Regime::StillAir:
            return still();
        case Regime::Fan:
            break;
    }
    Numbers best = forced(Regime::Mixed);
    if (reynolds >= turbulent_from) {
        const Numbers turbulent = forced(Regime::Turbulent);
        if (turbulent.sherwood > best.sherwood) best = turbulent;
    }
    const Numbers calm = still();
    return calm.sherwood > best.sherwood ? calm : best;
}

}  // namespace

AirProperties air_properties(Celsius t, Pascals total, Diffusivity which) {
    const double k = t.value + kelvin;
    const double density = dry_density(t, total);
    const double viscosity =
        1.716e-5 * std::pow(k / kelvin, 1.5) * (kelvin + 110.4) / (k + 110.4);  // Sutherland
    const double conductivity =
        2.64638e-3 * std::pow(k, 1.5) / (k + 245.4 * std::pow(10.0, -12.0 / k));
    const double atmospheres = total.value / 101325.0;
    double diffusivity = 0.0;
    switch (which) {
        case Diffusivity::Incropera:
            diffusivity = 0.26e-4 * std::pow(k / 298.0, 1.5) / atmospheres;
            break;
        case Diffusivity::MarreroMason:
            diffusivity = 1.87e-10 * std::pow(k, 2.072) / atmospheres;
            break;
        case Diffusivity::Massman:
            diffusivity = 0.2178e-4 * std::pow(k / kelvin, 1.81) / atmospheres;
            break;
    }
    return {viscosity / density, conductivity, conductivity / (density * air_heat_capacity),
            diffusivity};
}

double mixed_constant() {
    return 0.037 * std::pow(transition, 0.8) - 0.664 * std::sqrt(transition);
}

double plate_factor(double reynolds, Regime regime) {
    assert(regime == Regime::Laminar || regime == Regime::Mixed || regime == Regime::Turbulent);
    if (regime == Regime::Turbulent) return 0.037 * std::pow(reynolds, 0.8);
    if (regime == Regime::Mixed && reynolds > transition)
        return 0.037 * std::pow(reynolds, 0.8) - mixed_constant();
    return 0.664 * std::sqrt(reynolds);
}

double latent_heat(Celsius t) {
    return 2.501e6 - 2361.0 * t.value;
}

double vapour_density(Pascals vapour, Celsius t) {
    return vapour.value / (vapour_constant * (t.value + kelvin));
}

Film film_at(Celsius film, Celsius t, double w, Pascals total, const WetPlate& plate) {
    assert(plate.length > 0.0);
    const Celsius mean = 0.5 * (film + t);
    const AirProperties air = air_properties(mean, total, plate.diffusivity);
    const double reynolds = plate.speed.value * plate.length / air.viscosity;
    const Numbers numbers = transfer_numbers(film, t, w, total, plate, air, reynolds);

    Film result;
    result.temperature = film;
    result.reynolds = plate.regime == Regime::StillAir ? 0.0 : reynolds;
    result.grashof = numbers.grashof;
    result.sherwood = numbers.sherwood;
    result.heat_coefficient = numbers.nusselt * air.conductivity / plate.length;
    result.mass_coefficient = numbers.sherwood * air.vapour_diffusivity / plate.length;
    const Pascals at_film = saturation_pressure(film);
    const Pascals in_air = vapour_pressure(w, total);
    result.flux =
        result.mass_coefficient * (vapour_density(at_film, film) - vapour_density(in_air, t));
    if (plate.blowing) {
        const double xs = at_film / total;
        const double b = (xs - in_air / total) / (1.0 - xs);
        if (b != 0.0) result.flux *= std::log1p(b) / b / (1.0 - xs);
    }
    result.driving = humidity_ratio(at_film, total) - w;
    return result;
}

Film constant_rate_film(Celsius t, double w, Pascals total, const WetPlate& plate) {
    const auto surplus = [&](double film) {
        const Film f = film_at(Celsius{film}, t, w, total, plate);
        const double radiation = plate.emissivity * stefan_boltzmann *
                                 (std::pow(t.value + kelvin, 4.0) - std::pow(film + kelvin, 4.0));
        return f.heat_coefficient * (t.value - film) + radiation -
               f.flux * latent_heat(Celsius{film});
    };
    if (surplus(t.value) >= 0.0)
        return film_at(t, t, w, total, plate);  // saturated: nothing drives
    std::uintmax_t most = 200;
    const auto [a, b] =
        boost::math::tools::toms748_solve(surplus, std::max(t.value - 60.0, -40.0), t.value,
                                          boost::math::tools::eps_tolerance<double>(48), most);
    return film_at(Celsius{0.5 * (a + b)}, t, w, total, plate);
}

}  // namespace model::physics
