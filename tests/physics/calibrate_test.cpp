#include "model/physics/calibrate.hpp"

#include <cmath>

#include "tests/catch.hpp"

using namespace model;
using namespace model::physics;

namespace {

const Pascals calibrate_pressure{101325.0};

CabinetAir calibrate_cabinet() {
    CabinetAir air;
    air.supply = CubicMetresPerHour{120};
    return air;
}

/// Light and heavy groups, alone and many, dry and damp: what a shop can watch in a week.
std::vector<ObservedDrying> observations(double factor, double critical, double noise) {
    std::vector<ObservedDrying> all;
    const Area frame{Centimetres{58}, Centimetres{84}};
    int sign = 1;
    for (const auto& [coats, load, rh] : {std::tuple{1, 1, 0.4}, std::tuple{2, 1, 0.5},
                                          std::tuple{2, 8, 0.5}, std::tuple{1, 10, 0.65}}) {
        CoatPlan plan;
        plan.print_side = plan.squeegee_side = coats;
        ObservedDrying seen;
        Emulsion emulsion;
        emulsion.wet_film = Micrometres{coats == 1 ? 20.0 : 40.0};
        seen.screen = wet_coats(Mesh{}, plan, emulsion, frame, {});
        seen.room = {Celsius{21.0}, RelativeHumidity{rh}};
        seen.load = load;
        seen.seconds = 1.0;
        seen.seconds =
            predicted_seconds(calibrate_cabinet(), calibrate_pressure, {}, seen, factor, critical) *
            (1.0 + sign * noise);
        sign = -sign;
        all.push_back(seen);
    }
    // rinsed mesh has no falling rate: it tells the factor from X_c
    ObservedDrying mesh;
    mesh.screen = wet_mesh(frame, {});
    mesh.room = {Celsius{21.0}, RelativeHumidity{0.5}};
    mesh.seconds =
        predicted_seconds(calibrate_cabinet(), calibrate_pressure, {}, mesh, factor, critical) *
        (1.0 + sign * noise);
    all.push_back(mesh);
    return all;
}

}  // namespace

TEST_CASE("calibration finds the values that made the times", "[calibrate]") {
    for (const auto& [factor, critical] :
         {std::pair{1.6, 0.35}, std::pair{0.7, 0.8}, std::pair{1.0, 0.5}}) {
        const Calibration fit = calibrate(calibrate_cabinet(), calibrate_pressure, {},
                                          observations(factor, critical, 0.0));
        CHECK(fit.critical_fitted);
        CHECK_FALSE(fit.at_limit);
        CHECK(fit.transfer_factor == Approx(factor).epsilon(1e-4));
        CHECK(fit.critical_moisture == Approx(critical).epsilon(1e-3));
        CHECK(fit.rms < 1e-5);
    }
}

TEST_CASE("noisy times leave residuals of their size", "[calibrate]") {
    const Calibration fit =
        calibrate(calibrate_cabinet(), calibrate_pressure, {}, observations(1.4, 0.5, 0.05));
    CHECK(fit.transfer_factor == Approx(1.4).epsilon(0.1));
    CHECK(fit.rms > 0.02);
    CHECK(fit.rms < 0.06);
    CHECK(fit.residual.size() == 5);
    // least squares: nothing nearby is better
    const auto seen = observations(1.4, 0.5, 0.05);
    const auto sum = [&](double f, double x) {
        double s = 0.0;
        for (const auto& o : seen) {
            const double e =
                std::log(predicted_seconds(calibrate_cabinet(), calibrate_pressure, {}, o, f, x) /
                         o.seconds);
            s += e * e;
        }
        return s;
    };
    const double best = sum(fit.transfer_factor, fit.critical_moisture);
    CHECK(best <= sum(fit.transfer_factor * 1.01, fit.critical_moisture));
    CHECK(best <= sum(fit.transfer_factor / 1.01, fit.critical_moisture));
    CHECK(best <= sum(fit.transfer_factor, fit.critical_moisture + 0.01));
    CHECK(best <= sum(fit.transfer_factor, fit.critical_moisture - 0.01));
}

TEST_CASE("one observation fits the factor alone", "[calibrate]") {
    const auto seen = observations(1.5, 0.5, 0.0);
    const Calibration fit = calibrate(calibrate_cabinet(), calibrate_pressure, {}, {seen[1]});
    CHECK_FALSE(fit.critical_fitted);
    CHECK(fit.critical_moisture == 0.5);
    CHECK(fit.transfer_factor == Approx(1.5).epsilon(1e-6));
    // an impossible time stops at the limit and says so
    ObservedDrying hasty = seen[1];
    hasty.seconds = 60.0;
    CHECK(calibrate(calibrate_cabinet(), calibrate_pressure, {}, {hasty}).at_limit);
}
