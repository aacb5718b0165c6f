#pragma once
// Quantities as people write them: "45 min", "58 x 84 cm", "230 /in", "100 °F". The number and its
// unit are read together, checked, and converted with exact factors (1 inch = 2.54 cm). The tables
// of units are public, so that documentation and schema list what is really read.

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "model/base/quantity.hpp"
#include "model/base/time.hpp"

namespace model {

/// A value, or why the text is none.
template <class T>
struct Reading {
    std::optional<T> value;
    std::string problem;  // "" when there is a value, e.g. "has no unit"
};

/// What a text may measure.
enum class Measure {
    Duration,     // s
    Length,       // µm
    Size,         // cm, two of them
    PerLength,    // 1/cm: threads of a mesh, lines of a halftone
    Temperature,  // °C
    Percent,      // fraction
    AirFlow,      // m³/h
    Speed,        // m/s
    Power,        // W
    Volume,       // ml
    Density,      // kg/m³
    Pressure,     // Pa
    Altitude,     // m
    Amount,       // ml; weights as ml of water, to be divided by a density
};

/// canonical = written * numerator / denominator + offset
struct UnitRow {
    std::string_view name;
    double numerator;
    double denominator;
    double offset;
};
/// Units in the order in which documentation lists them; the first is the usual one.
std::span<const UnitRow> units_of(Measure measure);
/// What to write, e.g. "Write it like 45 min or 2 h 30 min."
std::string_view how_to_write(Measure measure);

/// A plain decimal number as people write it: digits, at most one point, an optional minus; no
/// exponent, no leading zeros ("010"), at most 15 characters. Problem otherwise.
Reading<double> parse_number(std::string_view text);
/// A whole number >= 0 by the same rules.
Reading<int> parse_count(std::string_view text);

/// "45 min", "2 h 30 min", "90 s", "4 weeks": larger units first, each once. @returns whole
/// seconds.
Reading<Seconds> parse_duration(std::string_view text);
/// "58 x 84 cm", "23 x 33 in", "580 × 840 mm": width x height, rounded to 1 µm.
Reading<Area> parse_size(std::string_view text);
Reading<Micrometres> parse_micrometres(std::string_view text);  // "40 µm", "0.04 mm"
Reading<Centimetres> parse_centimetres(std::string_view text);  // "100 cm", "40 in"
Reading<ThreadsPerCm> parse_threads(std::string_view text);     // "90 /cm", "230 threads/in"
Reading<LinesPerCm> parse_ruling(std::string_view text);        // "54 /cm", "133 lines/in"
Reading<Celsius> parse_temperature(std::string_view text);      // "38 °C", "100 °F"
Reading<Fraction> parse_percent(std::string_view text);         // "12 %"
Reading<CubicMetresPerHour> parse_air_flow(std::string_view text);
Reading<MetresPerSecond> parse_speed(std::string_view text);
Reading<Watts> parse_power(std::string_view text);
Reading<Millilitres> parse_volume(std::string_view text);
/// "1 l", or "1 kg" as the millilitres that it would be of water.
Reading<Millilitres> parse_amount(std::string_view text);
Reading<double> parse_density(std::string_view text);    // kg/m³
Reading<Pascals> parse_pressure(std::string_view text);  // "1013 hPa"
/// "120 m", "400 ft" above the sea → pressure of the standard atmosphere,
/// p = 101325 (1 - 2.25577e-5 z)^5.2559 Pa, -500 <= z <= 5000 m.
/// Source: ASHRAE Handbook Fundamentals, chapter 1, eq. (3).
Reading<Pascals> parse_altitude(std::string_view text);

/// Shortest text that reads back, in the unit that it was written in: "58 x 84 cm", "23 x 33 in".
std::string format_size(const Area& size);

/// Threads or lines per length in the unit that they were written in, of which nobody writes
/// fractions: "120/cm", "305/in"; else "/cm" with four digits.
std::string format_per_length(double per_cm);
/// Whether that is per inch.
bool is_per_inch(double per_cm);

}  // namespace model
