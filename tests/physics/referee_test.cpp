#include "referee.hpp"

#include <cmath>

#include "tests/catch.hpp"

// The engine's drying clock against an ODE integration of the equations that it stands for. The
// distributions are published in docs/physics.md#agreement (program coatroom-referee).

using physics_test::compare;
using physics_test::Equations;

TEST_CASE("free water: the clock agrees with the ODE within 1 s over 1,000 histories",
          "[referee]") {
    const auto d = compare(1000, {.free_water_only = true}, Equations::FilmHeld);
    REQUIRE(d.relative.size() > 10000);
    CHECK(d.seconds.front() > -1e-3);  // the clock rounds up to whole seconds
    CHECK(d.seconds.back() < 1.0 + 1e-3);
}

TEST_CASE("smooth falling rate: within 2 % over 1,000 histories", "[referee]") {
    const auto d = compare(1000, {}, Equations::FilmHeld);
    REQUIRE(d.relative.size() > 10000);
    CHECK(d.within(0.02) == 1.0);
    CHECK(std::abs(d.quantile(0.5)) < 0.001);
}

TEST_CASE("air with its own balance: within 2 % for 99.5 of 100 screens", "[referee]") {
    const auto d = compare(1000, {}, Equations::AirStored);
    CHECK(d.within(0.02) > 0.995);
    CHECK(std::abs(d.quantile(0.5)) < 0.002);
}

TEST_CASE("film temperature follows the air: within 2 % for 99.5 of 100 screens", "[referee]") {
    const auto d = compare(1000, {}, Equations::FilmCoupled);
    CHECK(d.within(0.02) > 0.995);
    CHECK(d.within(0.05) == 1.0);
}

TEST_CASE("room air that changes by the hour: within 2 % for 99 of 100 screens", "[referee]") {
    const auto d = compare(1000, {.changing_climate = true}, Equations::FilmCoupled);
    CHECK(d.within(0.02) > 0.99);
}

TEST_CASE("weak heaters: within 2 % for 98 of 100 screens, all within 10 %", "[referee]") {
    const auto d = compare(1000, {.weak_heater = true}, Equations::FilmCoupled);
    CHECK(d.within(0.02) > 0.985);
    CHECK(d.within(0.10) == 1.0);
    CHECK(d.quantile(0.01) > -0.08);
}

// Up to 200 screens in one cabinet: the air is near saturation, and takes up more than the law of a
// lightly loaded cabinet says (13-17 % more).
TEST_CASE("a crowd of screens: within 4 % at any load", "[referee]") {
    for (const double supply : {60.0, 150.0, 300.0}) {
        for (const int screens : {1, 4, 12, 40, 100, 200}) {
            const auto history = physics_test::crowd(screens, model::CubicMetresPerHour{supply});
            const double truth = physics_test::integrate(history, Equations::FilmCoupled).front();
            CAPTURE(supply, screens, truth, history.clock.front());
            CHECK(std::abs(history.clock.front() / truth - 1.0) < 0.04);
        }
    }
}
