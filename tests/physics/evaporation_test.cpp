#include "model/physics/evaporation.hpp"

#include <cmath>
#include <string>

#include "csv_rows.hpp"
#include "model/physics/air.hpp"
#include "tests/catch.hpp"

// Source of every value unless said otherwise: tests/data/physics/evaporation.csv (independent
// code, same property formulas, so 1e-4; values have 6 digits or fewer).

using namespace model;
using namespace model::physics;

namespace {

const Pascals sea_level{101325.0};
constexpr double same_formulas = 1e-4;

const physics_test::Values& evaporation_values() {
    static const physics_test::Values values("evaporation.csv");
    return values;
}

Film plate_film(double t, double rh, double u, double length, Regime regime = Regime::Mixed,
                Pascals p = sea_level, double emissivity = 0.0,
                Diffusivity d = Diffusivity::Incropera, bool blowing = false) {
    WetPlate plate;
    plate.speed = MetresPerSecond{u};
    plate.length = length;
    plate.regime = regime;
    plate.emissivity = emissivity;
    plate.diffusivity = d;
    plate.blowing = blowing;
    return constant_rate_film(
        Celsius{t}, humidity_ratio(Celsius{t}, RelativeHumidity{rh / 100.0}, p), p, plate);
}

void check_value(double value, const std::string& id, double epsilon = same_formulas) {
    CAPTURE(id);
    CHECK(value == Approx(evaporation_values()[id]).epsilon(epsilon));
}

}  // namespace

TEST_CASE("properties of air and vapour", "[evaporation]") {
    for (const auto& [tag, t] :
         {std::pair{"300 K", 26.85}, std::pair{"35 C", 35.0}, std::pair{"25 C", 25.0}}) {
        const std::string id = std::string("A-") + tag;
        const AirProperties air = air_properties(Celsius{t}, sea_level);
        check_value(air.viscosity, id + "-nu");
        check_value(air.conductivity, id + "-k");
        check_value(air.prandtl(), id + "-Pr");
        check_value(air.vapour_diffusivity, id + "-D");
        check_value(air.schmidt(), id + "-Sc");
        check_value(air.lewis(), id + "-Le");
        check_value(std::pow(air.lewis(), 2.0 / 3.0), id + "-Lewis");
        check_value(
            air_properties(Celsius{t}, sea_level, Diffusivity::MarreroMason).vapour_diffusivity,
            id + "-D-MM");
        check_value(air_properties(Celsius{t}, sea_level, Diffusivity::Massman).vapour_diffusivity,
                    id + "-D-Mas");
    }
}

TEST_CASE("flat-plate correlations", "[evaporation]") {
    const double root = std::cbrt(0.6);
    check_value(plate_factor(1e4, Regime::Laminar) * root, "B-lam-10000");
    check_value(plate_factor(3.6e4, Regime::Laminar) * root, "B-lam-36000");
    check_value(plate_factor(2e5, Regime::Laminar) * root, "B-lam-200000");
    check_value(plate_factor(1e6, Regime::Mixed) * root, "B-mix-1e+06");
    check_value(plate_factor(5e6, Regime::Mixed) * root, "B-mix-5e+06");
    check_value(plate_factor(1e6, Regime::Turbulent) * root, "B-tur-1e+06");
    check_value(plate_factor(5e6, Regime::Turbulent) * root, "B-tur-5e+06");
    check_value(mixed_constant(), "B-const");
}

TEST_CASE("constant-rate film by the coupled balance", "[evaporation]") {
    const double cases[][4] = {{35, 30, 1.0, 0.6},   {35, 30, 0.5, 0.6}, {35, 30, 2.0, 0.6},
                               {30, 40, 1.0, 0.6},   {38, 35, 1.0, 0.6}, {38, 20, 1.0, 0.6},
                               {37.8, 20, 2.0, 0.6}, {25, 50, 0.5, 0.6}, {21, 50, 0.3, 0.6},
                               {30, 60, 1.0, 0.6},   {30, 80, 1.0, 0.6}, {35, 30, 1.0, 1.0}};
    int number = 0;
    for (const auto& [t, rh, u, length] : cases) {
        ++number;
        const std::string id = std::string("C") + (number < 10 ? "0" : "") + std::to_string(number);
        const Film film = plate_film(t, rh, u, length);
        check_value(film.reynolds, id + "-Re");
        check_value(film.sherwood, id + "-Sh");
        check_value(film.mass_coefficient, id + "-hm");
        check_value(film.heat_coefficient, id + "-h");
        CHECK(film.temperature.value == Approx(evaporation_values()[id + "-Ts"]).margin(1e-4));
        check_value(film.flux, id + "-n");
        // the film is colder than the wet bulb (Le < 1) and warmer than the dew point
        const double w = humidity_ratio(Celsius{t}, RelativeHumidity{rh / 100.0}, sea_level);
        const Celsius bulb = wet_bulb(Celsius{t}, w, sea_level);
        CHECK(film.temperature < bulb);
        CHECK(film.temperature > dew_point(vapour_pressure(w, sea_level)));
        WetPlate plate;
        plate.speed = MetresPerSecond{u};
        plate.length = length;
        plate.regime = Regime::Mixed;
        check_value(film_at(bulb, Celsius{t}, w, sea_level, plate).flux, id + "-nwb");
    }
}

TEST_CASE("other forms: regime, pressure, diffusivity, blowing, radiation", "[evaporation]") {
    check_value(plate_film(35, 30, 1, 0.6, Regime::Laminar).flux, "C-mode-laminar");
    check_value(plate_film(35, 30, 1, 0.6, Regime::Turbulent).flux, "C-mode-turbulent");
    check_value(plate_film(35, 30, 1, 0.6, Regime::Mixed, sea_level, 0.9).temperature.value,
                "C-rad-Ts");
    check_value(plate_film(35, 30, 1, 0.6, Regime::Mixed, sea_level, 0.9).flux, "C-rad-n");
    check_value(
        plate_film(35, 30, 1, 0.6, Regime::Mixed, sea_level, 0.0, Diffusivity::MarreroMason).flux,
        "C-DMM-n");
    check_value(
        plate_film(35, 30, 1, 0.6, Regime::Mixed, sea_level, 0.0, Diffusivity::Incropera, true)
            .flux,
        "C-Stefan-n");
    check_value(plate_film(35, 30, 1, 0.6, Regime::Mixed, Pascals{90000.0}).flux, "C-P-n");
}

TEST_CASE("three closures of the same film", "[evaporation]") {
    const double w = humidity_ratio(Celsius{35.0}, RelativeHumidity{0.3}, sea_level);
    const Celsius bulb = wet_bulb(Celsius{35.0}, w, sea_level);
    WetPlate plate;
    plate.regime = Regime::Mixed;
    const Film at_bulb = film_at(bulb, Celsius{35.0}, w, sea_level, plate);
    check_value(at_bulb.flux, "I1");
    check_value(at_bulb.heat_coefficient * (35.0 - bulb.value) / latent_heat(bulb), "I2");
    check_value(constant_rate_film(Celsius{35.0}, w, sea_level, plate).flux, "I3");
}

TEST_CASE("still air", "[evaporation]") {
    for (const auto& [tag, t, rh] : {std::tuple{"J-25", 25.0, 50.0}, std::tuple{"J-21", 21.0, 50.0},
                                     std::tuple{"J-35", 35.0, 30.0}}) {
        const Film film = plate_film(t, rh, 0.05, 0.6, Regime::StillAir);
        check_value(film.temperature.value, std::string(tag) + "-Ts");
        check_value(film.grashof, std::string(tag) + "-Gr");
        check_value(film.sherwood, std::string(tag) + "-Sh");
        check_value(film.flux, std::string(tag) + "-n");
    }
}

TEST_CASE("minutes per 10 g/m² over all speeds and airs", "[evaporation]") {
    int rows = 0;
    const std::tuple<double, double, const char*> airs[] = {{21, 50, "21C50"}, {25, 50, "25C50"},
                                                            {30, 40, "30C40"}, {35, 30, "35C30"},
                                                            {38, 35, "38C35"}, {37.8, 20, "38C20"}};
    for (const auto& [t, rh, tag] : airs) {
        for (const auto& [u, name] : {std::pair{0.2, "0.2"}, std::pair{0.5, "0.5"},
                                      std::pair{1.0, "1.0"}, std::pair{2.0, "2.0"}}) {
            for (const auto& [regime, mode] :
                 {std::pair{Regime::Laminar, "lam"}, std::pair{Regime::Turbulent, "tur"}}) {
                const std::string id = std::string("H-") + tag + "-u" + name + "-" + mode;
                check_value(0.010 / plate_film(t, rh, u, 0.6, regime).flux / 60.0, id,
                            5e-4);  // rows have 4 digits
                ++rows;
            }
        }
    }
    CHECK(rows == 48);
}

TEST_CASE("a fan's stream takes the strongest of the three forms", "[evaporation]") {
    CHECK(plate_film(35, 30, 1.0, 0.6, Regime::Fan).flux ==
          Approx(plate_film(35, 30, 1.0, 0.6, Regime::Turbulent).flux));
    // 0.3 m/s: Re 1.2e4, laminar and turbulent forms nearly meet; 0.2 m/s: still air is stronger
    // (evaporation.md section 4)
    CHECK(plate_film(35, 30, 0.2, 0.6, Regime::Fan).flux ==
          Approx(plate_film(35, 30, 0.2, 0.6, Regime::StillAir).flux));
    CHECK(plate_film(35, 30, 0.2, 0.6, Regime::Fan).flux >
          plate_film(35, 30, 0.2, 0.6, Regime::Laminar).flux);
}

TEST_CASE("what a film model must show", "[evaporation]") {
    const Film a = plate_film(35, 30, 0.5, 0.6, Regime::Laminar);
    const Film b = plate_film(35, 30, 2.0, 0.6, Regime::Laminar);
    CHECK(b.temperature.value == Approx(a.temperature.value).margin(1e-9));
    CHECK(b.flux / a.flux == Approx(2.0).epsilon(1e-9));  // sqrt(u)
    CHECK(plate_film(35, 30, 2.0, 0.6, Regime::Turbulent).flux /
              plate_film(35, 30, 1.0, 0.6, Regime::Turbulent).flux ==
          Approx(std::pow(2.0, 0.8)).epsilon(1e-9));
    CHECK(plate_film(35, 100, 1.0, 0.6).flux == Approx(0.0).margin(1e-12));
}

// ---- published worked examples (rows G; what is printed in the books is named in each note)
// --------

TEST_CASE("Treybal illustration 12.4: duct, pan at 65 °C", "[evaporation][published]") {
    const double humid_volume = (0.00283 + 0.00456 * 0.01) * (65.0 + 273.0);
    const double flow = 3.0 * 1.01 / humid_volume;
    const double width = 4.0 * 0.1 * 0.7 / (2.0 * 0.8);
    const double h = 5.90 * std::pow(flow, 0.71) / std::pow(width, 0.29);
    check_value(h, "G05h");
    check_value(h * (65.0 - 28.5) / 2435e3 * 0.49, "G05n");
    CHECK(wet_bulb(Celsius{65.0}, 0.01, sea_level).value ==
          Approx(evaporation_values()["G05wb"]).margin(1e-3));
    CHECK(wet_bulb(Celsius{65.0}, 0.01, sea_level).value ==
          Approx(28.5).margin(0.3));  // read from a chart there
    CHECK(saturation_ratio(Celsius{28.5}, sea_level) == Approx(0.025).epsilon(0.01));  // chart
    CHECK(latent_heat(Celsius{28.5}) == Approx(2435e3).epsilon(2e-3));  // printed there
}

TEST_CASE("Incropera problem 6.53: pan of 230 mm in dry and half-damp air",
          "[evaporation][published]") {
    const double area = 0.25 * 3.14159265358979 * 0.23 * 0.23;
    const double h23 =
        1.5e-5 / (area * vapour_density(saturation_pressure(Celsius{23.0}), Celsius{23.0}));
    check_value(h23, "G01a2", 3e-4);
    CHECK(h23 == Approx(0.0179).epsilon(0.02));  // printed answer, from memory, steam-table density
    const double warm =
        h23 * area * vapour_density(saturation_pressure(Celsius{47.0}), Celsius{47.0});
    CHECK(warm == Approx(5.31e-5).epsilon(0.02));  // printed answer, from memory
}

TEST_CASE("Incropera problem 6.52: lake at 27 °C", "[evaporation][published]") {
    const double density = vapour_density(saturation_pressure(Celsius{27.0}), Celsius{27.0});
    CHECK(0.10 / 3600.0 / (0.7 * density) ==
          Approx(1.55e-3).epsilon(0.02));  // printed answer, from memory
}

TEST_CASE("Geankoplis constant-rate pan at 65.6 °C", "[evaporation][published]") {
    const double volume = specific_volume(Celsius{65.6}, 0.010, sea_level);
    const double flow = 6.1 * 1.010 / volume * 3600.0;
    const double h = 0.0204 * std::pow(flow, 0.8);
    CHECK(h == Approx(62.45).epsilon(0.002));  // printed, from memory
    const Celsius bulb = wet_bulb(Celsius{65.6}, 0.010, sea_level);
    CHECK(bulb.value == Approx(28.9).margin(0.3));  // printed, from memory
    CHECK(h * (65.6 - bulb.value) / latent_heat(bulb) * 3600.0 == Approx(3.39).epsilon(0.02));
}
