#pragma once
// Moist air as an ideal gas mixture, after ASHRAE Handbook Fundamentals 2017, chapter 1 (SI forms).
// The drying model asks it what the room's and the cabinet's air hold; nothing here knows of
// screens. Checked against tests/data/physics/psychrometrics.csv. Valid -100 .. 200 °C, for totals
// below saturation.

#include "model/base/quantity.hpp"

namespace model::physics {

inline constexpr double water_to_air_mass = 0.621945;  // ratio of molar masses (ch. 1)

/// Standard atmosphere at an altitude [m above sea level], -5000 .. 11000 (eq. 3).
Pascals pressure_at_altitude(double metres);

/// Saturation pressure over liquid water, or over ice below 0.01 °C (eq. 5 and 6).
Pascals saturation_pressure(Celsius t);

/// Humidity ratio W [kg vapour / kg dry air] from vapour pressure (eq. 20). @pre vapour < total.
double humidity_ratio(Pascals vapour, Pascals total);
/// W from temperature and relative humidity.
double humidity_ratio(Celsius t, RelativeHumidity rh, Pascals total);
/// W of saturated air.
double saturation_ratio(Celsius t, Pascals total);

/// Inverse of humidity_ratio: vapour pressure.
Pascals vapour_pressure(double w, Pascals total);
/// Relative humidity of air at t with W; above 1 means supersaturated (the caller decides).
RelativeHumidity relative_humidity(Celsius t, double w, Pascals total);

/// Temperature at which the vapour pressure is saturated; below 0.01 °C the frost point. @pre
/// vapour > 0.
Celsius dew_point(Pascals vapour);

/// Thermodynamic wet bulb by root finding on eq. 33 (35 over ice), within 1e-9 K.
Celsius wet_bulb(Celsius t, double w, Pascals total);

/// Enthalpy [J / kg dry air], zero at 0 °C dry air (eq. 30).
double enthalpy(Celsius t, double w);
/// Temperature of air with that enthalpy and W: inverse of enthalpy.
Celsius temperature_of(double joules_per_kg, double w);
/// Specific volume [m³ / kg dry air] (eq. 26).
double specific_volume(Celsius t, double w, Pascals total);
/// Density of the mixture [kg / m³].
double moist_density(Celsius t, double w, Pascals total);

/// Exact conversions.
Celsius from_fahrenheit(double f);
double to_fahrenheit(Celsius t);

}  // namespace model::physics
