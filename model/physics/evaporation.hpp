#pragma once
// Evaporation from a wet flat face in an air stream: heat/mass analogy on a plate, film temperature
// by the coupled balance of heat and vapour. Formulas, ranges and sources:
// docs/physics.md#evaporation; checked against tests/data/physics/evaporation.csv. The coefficient
// needs calibration by a factor of 1 to 3.

#include "model/base/quantity.hpp"

namespace model::physics {

/// Average transfer over a plate (Incropera & DeWitt, ch. 7 and 9).
enum class Regime {
    Laminar,    // 0.664 Re^1/2
    Mixed,      // laminar to Re 5e5, then turbulent
    Turbulent,  // 0.037 Re^0.8 from the edge
    StillAir,   // vertical plate, Churchill & Chu 1975
    Fan,        // largest of Mixed, Turbulent (Re >= 1e4) and StillAir: a cabinet's default
};

/// Published equations for vapour in air; Incropera is the default, the others check how much it
/// matters.
enum class Diffusivity { Incropera, MarreroMason, Massman };

/// Properties of dry air at the film's mean temperature.
struct AirProperties {
    double viscosity = 0.0;           // kinematic [m²/s]
    double conductivity = 0.0;        // [W/(m K)]
    double heat_diffusivity = 0.0;    // [m²/s]
    double vapour_diffusivity = 0.0;  // [m²/s]
    double prandtl() const { return viscosity / heat_diffusivity; }
    double schmidt() const { return viscosity / vapour_diffusivity; }
    double lewis() const { return heat_diffusivity / vapour_diffusivity; }
};
AirProperties air_properties(Celsius t, Pascals total, Diffusivity which = Diffusivity::Incropera);

/// Average Sherwood (Nusselt) number over Sc^(1/3) (Pr^(1/3)). @pre regime is Laminar, Mixed or
/// Turbulent.
double plate_factor(double reynolds, Regime regime);
/// Constant of the mixed form: 0.037 Re^0.8 - 0.664 Re^0.5 at transition (textbooks round to 871).
double mixed_constant();

/// Latent heat of water [J/kg], 0 .. 60 °C.
double latent_heat(Celsius t);
/// Density of vapour at that pressure and temperature [kg/m³], ideal gas.
double vapour_density(Pascals vapour, Celsius t);

/// A wet plate in a stream.
struct WetPlate {
    MetresPerSecond speed{1.0};  // along the plate
    double length = 0.6;         // in flow direction [m]
    Regime regime = Regime::Fan;
    double emissivity = 0.0;  // > 0 adds radiation from walls at air temperature
    Diffusivity diffusivity = Diffusivity::Incropera;
    bool blowing = false;  // Stefan correction
};

/// The film in its constant-rate period.
struct Film {
    Celsius temperature;
    double flux = 0.0;              // N [kg/(m² s)] of one face
    double mass_coefficient = 0.0;  // h_m [m/s]
    double heat_coefficient = 0.0;  // h [W/(m² K)]
    double reynolds = 0.0;          // 0 in still air
    double sherwood = 0.0;
    double grashof = 0.0;  // 0 in a stream
    double driving = 0.0;  // W_s(t_s) - W [kg/kg]
    /// K with N = K (W_s - W) [kg/(m² s)]; 0 when nothing drives.
    double conductance() const { return driving > 0.0 ? flux / driving : 0.0; }
};

/// Film temperature from the steady balance h (t - t_s) + radiation = N h_fg(t_s), nothing from
/// behind.
/// @param w humidity ratio of the air, 0 .. saturation.  @pre 0 < length, speed >= 0.05 unless
/// StillAir. Closure: coupled balance (docs/physics.md#evaporation), not "film at the wet bulb".
Film constant_rate_film(Celsius t, double w, Pascals total, const WetPlate& plate);
/// The same with the film held at a given temperature (other closures, tests).
Film film_at(Celsius film, Celsius t, double w, Pascals total, const WetPlate& plate);

}  // namespace model::physics
