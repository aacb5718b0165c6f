#pragma once
// Quantities of the trade as types: explicit construction, only the arithmetic that makes sense.
// The number inside is in the unit that the name says.

#include <compare>
#include <utility>

namespace model {

template <class Tag>
struct Quantity {
    double value = 0.0;
    constexpr Quantity() = default;
    constexpr explicit Quantity(double v) : value(v) {}
    friend constexpr auto operator<=>(Quantity, Quantity) = default;
    friend constexpr Quantity operator+(Quantity a, Quantity b) {
        return Quantity{a.value + b.value};
    }
    friend constexpr Quantity operator-(Quantity a, Quantity b) {
        return Quantity{a.value - b.value};
    }
    friend constexpr Quantity operator*(Quantity a, double f) { return Quantity{a.value * f}; }
    friend constexpr Quantity operator*(double f, Quantity a) { return Quantity{a.value * f}; }
    friend constexpr double operator/(Quantity a, Quantity b) { return a.value / b.value; }
};

using Micrometres = Quantity<struct MicrometresTag>;  // µm
using Centimetres = Quantity<struct CentimetresTag>;  // cm
using ThreadsPerCm =
    Quantity<struct ThreadsPerCmTag>;  // 1/cm (input also per inch; 1 inch = 2.54 cm exactly)
using LinesPerCm = Quantity<struct LinesPerCmTag>;       // halftone ruling, 1/cm
using Celsius = Quantity<struct CelsiusTag>;             // °C (input also °F)
using RelativeHumidity = Quantity<struct HumidityTag>;   // fraction 0..1 (input in %)
using Fraction = Quantity<struct FractionTag>;           // 0..1 (input in %)
using Pascals = Quantity<struct PascalsTag>;             // Pa (input hPa or metres of altitude)
using MetresPerSecond = Quantity<struct SpeedTag>;       // m/s
using CubicMetresPerHour = Quantity<struct AirFlowTag>;  // m³/h
using Watts = Quantity<struct WattsTag>;                 // W (input also kW)
using Millilitres = Quantity<struct MillilitresTag>;     // ml (input also l)

/// Width x height of a frame, image or blanket.
struct Area {
    Centimetres width;
    Centimetres height;
    bool in_inches = false;  // as it was written, and so it is said; the same size all the same
    friend bool operator==(const Area& a, const Area& b) {
        return a.width == b.width && a.height == b.height;
    }
    friend auto operator<=>(const Area& a, const Area& b) {
        return std::pair{a.width, a.height} <=> std::pair{b.width, b.height};
    }
};

}  // namespace model
