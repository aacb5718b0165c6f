// How it works: one table of spellings and exact factors per measure. A quantity is split into
// number and unit, the unit is looked up, the value converted and checked; a fault says how to
// write it.

#include "model/base/units.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <vector>

namespace model {

namespace {

// Factors are exact: the inch is 2.54 cm, the foot 30.48 cm by definition.
constexpr std::array<UnitRow, 15> duration_units{{{"min", 60, 1, 0},
                                                  {"h", 3600, 1, 0},
                                                  {"s", 1, 1, 0},
                                                  {"days", 86400, 1, 0},
                                                  {"weeks", 604800, 1, 0},
                                                  {"minutes", 60, 1, 0},
                                                  {"minute", 60, 1, 0},
                                                  {"hours", 3600, 1, 0},
                                                  {"hour", 3600, 1, 0},
                                                  {"seconds", 1, 1, 0},
                                                  {"second", 1, 1, 0},
                                                  {"sec", 1, 1, 0},
                                                  {"day", 86400, 1, 0},
                                                  {"d", 86400, 1, 0},
                                                  {"week", 604800, 1, 0}}};
constexpr std::array<UnitRow, 9> length_units{{{"µm", 1, 1, 0},
                                               {"μm", 1, 1, 0},
                                               {"um", 1, 1, 0},
                                               {"mm", 1000, 1, 0},
                                               {"cm", 10000, 1, 0},
                                               {"m", 1000000, 1, 0},
                                               {"in", 25400, 1, 0},
                                               {"inch", 25400, 1, 0},
                                               {"inches", 25400, 1, 0}}};
constexpr std::array<UnitRow, 6> size_units{{{"cm", 1, 1, 0},
                                             {"mm", 1, 10, 0},
                                             {"m", 100, 1, 0},
                                             {"in", 254, 100, 0},
                                             {"inch", 254, 100, 0},
                                             {"inches", 254, 100, 0}}};
constexpr std::array<UnitRow, 11> per_length_units{{{"/cm", 1, 1, 0},
                                                    {"/in", 100, 254, 0},
                                                    {"/inch", 100, 254, 0},
                                                    {"threads/cm", 1, 1, 0},
                                                    {"threads/in", 100, 254, 0},
                                                    {"threads/inch", 100, 254, 0},
                                                    {"lines/cm", 1, 1, 0},
                                                    {"lines/in", 100, 254, 0},
                                                    {"lines/inch", 100, 254, 0},
                                                    {"lpi", 100, 254, 0},
                                                    {"tpi", 100, 254, 0}}};
constexpr std::array<UnitRow, 4> temperature_units{
    {{"°C", 1, 1, 0}, {"°F", 5, 9, -32}, {"C", 1, 1, 0}, {"F", 5, 9, -32}}};
constexpr std::array<UnitRow, 1> percent_units{{{"%", 1, 100, 0}}};
constexpr std::array<UnitRow, 3> air_flow_units{
    {{"m³/h", 1, 1, 0}, {"m3/h", 1, 1, 0}, {"cfm", 0.028316846592 * 60, 1, 0}}};
constexpr std::array<UnitRow, 2> speed_units{{{"m/s", 1, 1, 0}, {"ft/min", 0.3048, 60, 0}}};
constexpr std::array<UnitRow, 2> power_units{{{"kW", 1000, 1, 0}, {"W", 1, 1, 0}}};
constexpr std::array<UnitRow, 4> volume_units{
    {{"ml", 1, 1, 0}, {"l", 1000, 1, 0}, {"mL", 1, 1, 0}, {"L", 1000, 1, 0}}};
constexpr std::array<UnitRow, 6> amount_units{{{"ml", 1, 1, 0},
                                               {"l", 1000, 1, 0},
                                               {"kg", 1000, 1, 0},
                                               {"g", 1, 1, 0},
                                               {"mL", 1, 1, 0},
                                               {"L", 1000, 1, 0}}};
constexpr std::array<UnitRow, 4> density_units{
    {{"kg/l", 1000, 1, 0}, {"g/ml", 1000, 1, 0}, {"kg/m³", 1, 1, 0}, {"kg/m3", 1, 1, 0}}};
constexpr std::array<UnitRow, 4> pressure_units{
    {{"hPa", 100, 1, 0}, {"mbar", 100, 1, 0}, {"kPa", 1000, 1, 0}, {"Pa", 1, 1, 0}}};
constexpr std::array<UnitRow, 2> altitude_units{{{"m", 1, 1, 0}, {"ft", 0.3048, 1, 0}}};

constexpr std::string_view nbsp = "\xC2\xA0";

// Spaces, no-break spaces and tabs at both ends go.
std::string_view trimmed(std::string_view text) {
    for (bool again = true; again;) {
        again = false;
        if (!text.empty() && (text.front() == ' ' || text.front() == '\t')) {
            text.remove_prefix(1);
            again = true;
        } else if (text.substr(0, 2) == nbsp) {
            text.remove_prefix(2);
            again = true;
        } else if (!text.empty() && (text.back() == ' ' || text.back() == '\t')) {
            text.remove_suffix(1);
            again = true;
        } else if (text.size() >= 2 && text.substr(text.size() - 2) == nbsp) {
            text.remove_suffix(2);
            again = true;
        }
    }
    return text;
}

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

// Splits "38 °C" into "38" and "°C".
struct Split {
    std::string_view number;
    std::string_view rest;
};
Split split_number(std::string_view text) {
    text = trimmed(text);
    std::size_t at = 0;
    if (at < text.size() && (text[at] == '-' || text[at] == '+')) ++at;
    while (at < text.size() && (is_digit(text[at]) || text[at] == '.' || text[at] == ','))
        ++at;
    return {text.substr(0, at), trimmed(text.substr(at))};
}

std::string unit_list(Measure measure) {
    // The usual spellings come first in the tables; the others are for the documentation.
    constexpr std::size_t enough = 6;
    std::string out;
    for (const UnitRow& row : units_of(measure).first(std::min(enough, units_of(measure).size()))) {
        if (!out.empty()) out += ", ";
        out += row.name;
    }
    return out;
}

const UnitRow* find_unit(Measure measure, std::string_view name) {
    for (const UnitRow& row : units_of(measure)) {
        if (row.name == name) return &row;
    }
    return nullptr;
}

std::string unit_problem(Measure measure, std::string_view unit) {
    if (unit.empty()) return fmt::format("has no unit ({})", unit_list(measure));
    return fmt::format("has the unit \"{}\"; known are {}", unit, unit_list(measure));
}

double converted(double written, const UnitRow& row) {
    return (written + row.offset) * row.numerator / row.denominator;
}

Reading<double> parse_measure(Measure measure, std::string_view text) {
    const Split split = split_number(text);
    if (split.number.empty()) return {std::nullopt, "does not begin with a number"};
    const Reading<double> number = parse_number(split.number);
    if (!number.value) return number;
    const UnitRow* row = find_unit(measure, split.rest);
    if (row == nullptr) return {std::nullopt, unit_problem(measure, split.rest)};
    return {converted(*number.value, *row), {}};
}

template <class Q>
Reading<Q> as_quantity(Measure measure, std::string_view text, double divisor = 1.0) {
    Reading<double> read = parse_measure(measure, text);
    if (!read.value) return {std::nullopt, std::move(read.problem)};
    return {Q{*read.value / divisor}, {}};
}

// One side of a size to the nearest 1e-4 cm, so that "23 in" and "58.42 cm" are the same frame.
Centimetres side(double written, const UnitRow& row) {
    return Centimetres{std::round(converted(written, row) * 1e4) / 1e4};
}

}  // namespace

std::span<const UnitRow> units_of(Measure measure) {
    switch (measure) {
        case Measure::Duration:
            return duration_units;
        case Measure::Length:
            return length_units;
        case Measure::Size:
            return size_units;
        case Measure::PerLength:
            return per_length_units;
        case Measure::Temperature:
            return temperature_units;
        case Measure::Percent:
            return percent_units;
        case Measure::AirFlow:
            return air_flow_units;
        case Measure::Speed:
            return speed_units;
        case Measure::Power:
            return power_units;
        case Measure::Volume:
            return volume_units;
        case Measure::Density:
            return density_units;
        case Measure::Pressure:
            return pressure_units;
        case Measure::Altitude:
            return altitude_units;
        case Measure::Amount:
            return amount_units;
    }
    return {};
}

std::string_view how_to_write(Measure measure) {
    switch (measure) {
        case Measure::Duration:
            return "Write it like 45 min, 2 h 30 min, 90 s or 4 weeks.";
        case Measure::Length:
            return "Write it like 40 µm, 5 mm, 100 cm or 40 in.";
        case Measure::Size:
            return "Write width x height and the unit, like 58 x 84 cm or 23 x 33 in.";
        case Measure::PerLength:
            return "Write it like 90 /cm or 230 /in.";
        case Measure::Temperature:
            return "Write it like 38 °C or 100 °F.";
        case Measure::Percent:
            return "Write it like 12 %.";
        case Measure::AirFlow:
            return "Write it like 900 m³/h, 900 m3/h or 530 cfm.";
        case Measure::Speed:
            return "Write it like 1.5 m/s or 300 ft/min.";
        case Measure::Power:
            return "Write it like 3 kW or 800 W.";
        case Measure::Volume:
            return "Write it like 850 ml or 1 l.";
        case Measure::Density:
            return "Write it like 1.05 kg/l.";
        case Measure::Pressure:
            return "Write it like 1013 hPa.";
        case Measure::Altitude:
            return "Write it like 120 m or 400 ft.";
        case Measure::Amount:
            return "Write it like 850 ml, 1 l or 1 kg.";
    }
    return {};
}

Reading<double> parse_number(std::string_view text) {
    text = trimmed(text);
    if (text.empty()) return {std::nullopt, "is empty where a number belongs"};
    if (text.size() > 15) return {std::nullopt, "is not a number of at most 15 characters"};
    std::string_view rest = text;
    if (rest.front() == '-') rest.remove_prefix(1);
    if (rest.find(',') != std::string_view::npos) {
        return {std::nullopt, "has a comma in its number: write the decimals after a point"};
    }
    const std::size_t point = rest.find('.');
    const std::string_view whole = rest.substr(0, point);
    bool good = !whole.empty();
    for (const char c : whole)
        good = good && is_digit(c);
    if (point != std::string_view::npos) {
        const std::string_view decimals = rest.substr(point + 1);
        good = good && !decimals.empty();
        for (const char c : decimals)
            good = good && is_digit(c);
    }
    if (!good) return {std::nullopt, "is not a plain number like 12 or 2.5"};
    if (whole.size() > 1 && whole.front() == '0') {
        return {std::nullopt, "begins with a 0 that does not belong there"};
    }
    double value = 0.0;
    const auto done = std::from_chars(text.data(), text.data() + text.size(), value);
    if (done.ec != std::errc{} || done.ptr != text.data() + text.size()) {
        return {std::nullopt, "is not a plain number like 12 or 2.5"};
    }
    return {value, {}};
}

Reading<int> parse_count(std::string_view text) {
    text = trimmed(text);
    const Reading<double> number = parse_number(text);
    if (!number.value) return {std::nullopt, number.problem};
    if (text.front() == '-' || text.find('.') != std::string_view::npos) {
        return {std::nullopt, "is not a whole number like 12"};
    }
    if (*number.value > 1e9) return {std::nullopt, "is too large"};
    return {static_cast<int>(*number.value), {}};
}

Reading<Seconds> parse_duration(std::string_view text) {
    std::string_view rest = trimmed(text);
    if (rest.empty()) return {std::nullopt, "is empty where a time belongs"};
    double total = 0.0;
    double last_unit = 1e18;
    while (!rest.empty()) {
        const Split split = split_number(rest);
        if (split.number.empty()) return {std::nullopt, "does not begin with a number"};
        const Reading<double> number = parse_number(split.number);
        if (!number.value) return {std::nullopt, number.problem};
        if (*number.value < 0) return {std::nullopt, "is a negative time"};
        std::size_t at = 0;
        while (at < split.rest.size() && split.rest[at] != ' ' && !is_digit(split.rest[at]))
            ++at;
        const std::string_view unit = split.rest.substr(0, at);
        const UnitRow* row = find_unit(Measure::Duration, unit);
        if (row == nullptr) return {std::nullopt, unit_problem(Measure::Duration, unit)};
        if (row->numerator >= last_unit) {
            return {std::nullopt, "has its units out of order (weeks, days, h, min, s; each once)"};
        }
        last_unit = row->numerator;
        total += *number.value * row->numerator;
        rest = trimmed(split.rest.substr(at));
    }
    if (total > 3.2e9) return {std::nullopt, "is longer than a hundred years"};
    const double whole = std::round(total);
    if (std::abs(total - whole) > 1e-6) return {std::nullopt, "is not a whole number of seconds"};
    return {Seconds{static_cast<std::int64_t>(whole)}, {}};
}

Reading<Area> parse_size(std::string_view text) {
    const Split first = split_number(text);
    if (first.number.empty()) return {std::nullopt, "does not begin with a number"};
    std::string_view rest = first.rest;
    std::string_view first_unit;
    if (const std::size_t x = rest.find_first_of("xX"); x != std::string_view::npos) {
        first_unit = trimmed(rest.substr(0, x));
        rest = rest.substr(x + 1);
    } else if (const std::size_t times = rest.find("×"); times != std::string_view::npos) {
        first_unit = trimmed(rest.substr(0, times));
        rest = rest.substr(times + std::string_view("×").size());
    } else {
        return {std::nullopt, "has one side only"};
    }
    const Split second = split_number(rest);
    if (second.number.empty()) return {std::nullopt, "has no number after the x"};
    const Reading<double> width = parse_number(first.number);
    if (!width.value) return {std::nullopt, width.problem};
    const Reading<double> height = parse_number(second.number);
    if (!height.value) return {std::nullopt, height.problem};
    const UnitRow* row = find_unit(Measure::Size, second.rest);
    if (row == nullptr) return {std::nullopt, unit_problem(Measure::Size, second.rest)};
    if (!first_unit.empty() && first_unit != second.rest) {
        return {std::nullopt, "has different units for its sides"};
    }
    if (*width.value <= 0 || *height.value <= 0)
        return {std::nullopt, "has a side that is not above 0"};
    const Area size{side(*width.value, *row), side(*height.value, *row),
                    row->name.substr(0, 2) == "in"};
    if (size.width.value > 1000 || size.height.value > 1000) {
        return {std::nullopt, "has a side longer than 10 m"};
    }
    if (size.width.value < 0.1 || size.height.value < 0.1) {
        return {std::nullopt, "has a side shorter than 1 mm"};
    }
    return {size, {}};
}

Reading<Micrometres> parse_micrometres(std::string_view text) {
    return as_quantity<Micrometres>(Measure::Length, text);
}
Reading<Centimetres> parse_centimetres(std::string_view text) {
    return as_quantity<Centimetres>(Measure::Length, text, 10000.0);
}
Reading<ThreadsPerCm> parse_threads(std::string_view text) {
    return as_quantity<ThreadsPerCm>(Measure::PerLength, text);
}
Reading<LinesPerCm> parse_ruling(std::string_view text) {
    return as_quantity<LinesPerCm>(Measure::PerLength, text);
}
Reading<Celsius> parse_temperature(std::string_view text) {
    return as_quantity<Celsius>(Measure::Temperature, text);
}
Reading<Fraction> parse_percent(std::string_view text) {
    return as_quantity<Fraction>(Measure::Percent, text);
}
Reading<CubicMetresPerHour> parse_air_flow(std::string_view text) {
    return as_quantity<CubicMetresPerHour>(Measure::AirFlow, text);
}
Reading<MetresPerSecond> parse_speed(std::string_view text) {
    return as_quantity<MetresPerSecond>(Measure::Speed, text);
}
Reading<Watts> parse_power(std::string_view text) {
    return as_quantity<Watts>(Measure::Power, text);
}
Reading<Millilitres> parse_volume(std::string_view text) {
    return as_quantity<Millilitres>(Measure::Volume, text);
}
Reading<Millilitres> parse_amount(std::string_view text) {
    return as_quantity<Millilitres>(Measure::Amount, text);
}
Reading<double> parse_density(std::string_view text) {
    return parse_measure(Measure::Density, text);
}
Reading<Pascals> parse_pressure(std::string_view text) {
    return as_quantity<Pascals>(Measure::Pressure, text);
}

Reading<Pascals> parse_altitude(std::string_view text) {
    Reading<double> z = parse_measure(Measure::Altitude, text);
    if (!z.value) return {std::nullopt, std::move(z.problem)};
    if (*z.value < -500 || *z.value > 5000) {
        return {std::nullopt, "is outside -500 m to 5000 m above the sea"};
    }
    return {Pascals{101325.0 * std::pow(1.0 - 2.25577e-5 * *z.value, 5.2559)}, {}};
}

bool is_per_inch(double per_cm) {
    const auto whole = [](double x) { return std::abs(x - std::round(x)) < 1e-6; };
    return !whole(per_cm) && whole(per_cm * 2.54);
}

std::string format_per_length(double per_cm) {
    return is_per_inch(per_cm) ? fmt::format("{:.0f}/in", per_cm * 2.54)
                               : fmt::format("{:.4g}/cm", per_cm);
}

std::string format_size(const Area& size) {
    if (!size.in_inches) return fmt::format("{} x {} cm", size.width.value, size.height.value);
    const auto inches = [](const Centimetres& side) {
        return std::round(side.value / 2.54 * 1e4) / 1e4;
    };
    return fmt::format("{} x {} in", inches(size.width), inches(size.height));
}

}  // namespace model
