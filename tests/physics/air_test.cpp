#include "model/physics/air.hpp"

#include <cmath>
#include <optional>

#include "csv_rows.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace model::physics;

namespace {

std::optional<double> air_cell(const physics_test::Row& row, const std::string& column) {
    const std::string& text = row.at(column);
    if (text.empty()) return std::nullopt;
    return std::stod(text);
}

}  // namespace

// Source: tests/data/physics/psychrometrics.csv (psychrolib 2.5.0 = ASHRAE Fundamentals 2017 ch.
// 1). Columns are printed to 8 digits (p_s, p_w: 1e-4 Pa; t: 1e-5 or 1e-6 K), which sets the
// tolerances.
TEST_CASE("moist air agrees with the reference implementation at 44 states", "[air]") {
    int states = 0;
    for (const auto& row : physics_test::read_rows("psychrometrics.csv")) {
        if (row.at("kind") != "computed") continue;
        ++states;
        CAPTURE(row.at("id"));
        const Celsius t{*air_cell(row, "t_db_C")};
        const RelativeHumidity rh{*air_cell(row, "rh_pct") / 100.0};
        const Pascals p{*air_cell(row, "p_Pa")};
        const double w = humidity_ratio(t, rh, p);
        CHECK(saturation_pressure(t).value == Approx(*air_cell(row, "p_ws_Pa")).epsilon(1e-7));
        CHECK(vapour_pressure(w, p).value == Approx(*air_cell(row, "p_w_Pa")).epsilon(1e-6));
        CHECK(w == Approx(*air_cell(row, "W_kg_per_kgda")).epsilon(1e-6));
        CHECK(dew_point(vapour_pressure(w, p)).value ==
              Approx(*air_cell(row, "t_dp_C")).margin(0.002));
        CHECK(wet_bulb(t, w, p).value == Approx(*air_cell(row, "t_wb_refined_C")).margin(2e-6));
        CHECK(enthalpy(t, w) == Approx(*air_cell(row, "h_J_per_kgda")).epsilon(1e-6));
        CHECK(specific_volume(t, w, p) == Approx(*air_cell(row, "v_m3_per_kgda")).epsilon(1e-6));
        CHECK(moist_density(t, w, p) == Approx(*air_cell(row, "rho_moist_kg_m3")).epsilon(1e-6));
        CHECK(relative_humidity(t, w, p).value == Approx(rh.value).epsilon(1e-12));
        CHECK(temperature_of(enthalpy(t, w), w).value == Approx(t.value).epsilon(1e-12));
    }
    CHECK(states == 44);
}

// Published table rows are real gas (enhancement factor): W at saturation differs by 0.4-0.6 %, h
// by 0.2-0.4 %; that is a property of the ideal-gas formulas, not an error
// (tests/data/physics/README.md).
TEST_CASE("published ASHRAE rows hold within the ideal gas's distance", "[air][published]") {
    int rows = 0;
    for (const auto& row : physics_test::read_rows("psychrometrics.csv")) {
        if (row.at("kind") != "published" || row.at("id") == "A09") continue;
        ++rows;
        CAPTURE(row.at("id"));
        const Celsius t{*air_cell(row, "t_db_C")};
        const Pascals p{*air_cell(row, "p_Pa")};
        const double w = humidity_ratio(t, RelativeHumidity{*air_cell(row, "rh_pct") / 100.0}, p);
        if (const auto pws = air_cell(row, "p_ws_Pa"))
            CHECK(saturation_pressure(t).value == Approx(*pws).epsilon(3e-4));
        if (*air_cell(row, "W_kg_per_kgda") > 0.0) {
            const double off = w / *air_cell(row, "W_kg_per_kgda") - 1.0;
            CHECK(off < -0.004);
            CHECK(off > -0.0065);
            const double off_h = enthalpy(t, w) / *air_cell(row, "h_J_per_kgda") - 1.0;
            CHECK(off_h < -0.002);
            CHECK(off_h > -0.0045);
        } else {
            CHECK(enthalpy(t, w) == Approx(*air_cell(row, "h_J_per_kgda")).epsilon(1e-3));
            CHECK(specific_volume(t, w, p) ==
                  Approx(*air_cell(row, "v_m3_per_kgda")).epsilon(1e-3));
        }
    }
    CHECK(rows == 8);
}

// ASHRAE Fundamentals 2017 ch. 1, example 1: 40 °C, wet bulb 20 °C, chart-read answers.
TEST_CASE("ASHRAE example 1: state from dry and wet bulb", "[air][published]") {
    const Pascals p{101325.0};
    const Celsius t{40.0};
    double lo = 0.0, hi = 0.02;
    for (int i = 0; i < 60; ++i) {
        const double w = 0.5 * (lo + hi);
        (wet_bulb(t, w, p).value < 20.0 ? lo : hi) = w;
    }
    CHECK(lo == Approx(0.0065).margin(1e-4));
    CHECK(dew_point(vapour_pressure(lo, p)).value == Approx(7.0).margin(0.5));
    CHECK(relative_humidity(t, lo, p).value == Approx(0.14).margin(0.01));
    CHECK(enthalpy(t, lo) == Approx(56700.0).margin(100.0));
    CHECK(specific_volume(t, lo, p) == Approx(0.896).epsilon(0.01));
}

// Standard atmosphere (ASHRAE Fundamentals ch. 1 table 1, from memory): 500 m 95.461 kPa, 1000
// m 89.875 kPa. The table's values are also the pressures of rows P42 and P43.
TEST_CASE("pressure falls with altitude as in the standard atmosphere", "[air]") {
    CHECK(pressure_at_altitude(0.0).value == Approx(101325.0).epsilon(1e-12));
    CHECK(pressure_at_altitude(500.0).value == Approx(95461.0).epsilon(2e-5));
    CHECK(pressure_at_altitude(1000.0).value == Approx(89875.0).epsilon(2e-5));
}

TEST_CASE("limits of moist air", "[air]") {
    const Pascals p{101325.0};
    CHECK(wet_bulb(Celsius{25.0}, saturation_ratio(Celsius{25.0}, p), p).value ==
          Approx(25.0).margin(1e-9));
    const double w = humidity_ratio(Celsius{30.0}, RelativeHumidity{0.4}, p);
    CHECK(dew_point(vapour_pressure(w, p)) < wet_bulb(Celsius{30.0}, w, p));
    // water and ice meet at the triple point, 611.657 Pa (IAPWS); the two equations within 2e-4
    CHECK(saturation_pressure(Celsius{0.0099}).value == Approx(611.657).epsilon(5e-4));
    CHECK(saturation_pressure(Celsius{0.0101}).value == Approx(611.657).epsilon(5e-4));
}

TEST_CASE("40 °C is 104 °F exactly", "[air][common-practice]") {
    CHECK(to_fahrenheit(Celsius{40.0}) == 104.0);
    CHECK(from_fahrenheit(104.0).value == 40.0);
    CHECK(to_fahrenheit(Celsius{35.0}) == 95.0);
    CHECK(to_fahrenheit(Celsius{37.8}) == Approx(100.04).epsilon(1e-12));
    // a trade article equates 110 °F with 40 °C: wrong by 3.3 K
    CHECK(from_fahrenheit(110.0).value == Approx(43.3333).margin(1e-4));
}
