#include "model/physics/drying.hpp"

#include <cmath>
#include <string>

#include "csv_rows.hpp"
#include "model/physics/mesh.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace model::physics;

namespace {

const physics_test::Values& drying_values() {
    static const physics_test::Values values("evaporation.csv");
    return values;
}

WetFace wet_film(double um, double solids, double density = 1050.0) {
    const double liquid = um * 1e-6 * density;
    return {liquid * (1.0 - solids), liquid * solids, Micrometres{um}};
}

}  // namespace

TEST_CASE("water in one coat", "[drying]") {
    Emulsion emulsion;
    DryingLaw law;
    const Area frame{Centimetres{58}, Centimetres{84}};
    for (int um : {20, 40, 60}) {
        for (int solids : {30, 40, 50}) {
            emulsion.wet_film = Micrometres{double(um)};
            emulsion.solids = Fraction{solids / 100.0};
            const WetScreen screen = wet_face_coat(emulsion, frame, law);
            const std::string id = "E-" + std::to_string(um) + "-" + std::to_string(solids);
            CHECK(screen.print.grams() == Approx(drying_values()[id]).epsilon(1e-9));
            CHECK(screen.squeegee.water == 0.0);
        }
    }
}

TEST_CASE("a wet group wets both sides and fills the mesh", "[drying]") {
    // By hand: 120-34 holds 17.874 µm (exposure.md), half a side. 2 x 40 + 8.937 = 88.937 µm;
    // x 1.05 x 0.6 = 56.030 g/m²; squeegee side 3 x 40 + 8.937 = 128.937 µm -> 81.230 g/m². Mesh 50
    // x 76 cm inside a 4 cm bar.
    CoatPlan plan;
    plan.print_side = 2;
    plan.squeegee_side = 3;
    const WetScreen s =
        wet_coats(Mesh{}, plan, Emulsion{}, {Centimetres{58}, Centimetres{84}}, DryingLaw{});
    CHECK(s.area == Approx(0.38).epsilon(1e-12));
    CHECK(s.length == Approx(0.76).epsilon(1e-12));
    CHECK(s.print.film.value == Approx(88.937).epsilon(1e-5));
    CHECK(s.print.grams() == Approx(56.030).epsilon(1e-5));
    CHECK(s.squeegee.grams() == Approx(81.230).epsilon(1e-5));
    CHECK(s.print.water / s.print.solids == Approx(1.5).epsilon(1e-12));
}

// evaporation.csv rows D11-D14: constant rate, then the linear characteristic curve, N of row C01.
// Here a clock unit is scaled so that K = N x clock_scale makes one unit one second.
TEST_CASE("two-period drying times", "[drying]") {
    const double n = drying_values()["C01-n"];
    const std::tuple<const char*, double, double, double> cases[] = {{"D11", 40, 0.40, 0.50},
                                                                     {"D12", 40, 0.40, 0.30},
                                                                     {"D13", 60, 0.35, 0.50},
                                                                     {"D14", 20, 0.45, 0.50}};
    for (const auto& [id, um, solids, critical] : cases) {
        CAPTURE(id);
        const WetFace face = wet_film(um, solids);
        CHECK(face.solids == Approx(drying_values()[std::string(id) + "-ms"]).epsilon(1e-5));
        CHECK(face.water / face.solids ==
              Approx(drying_values()[std::string(id) + "-X0"]).epsilon(1e-5));
        const FaceDrying dry = face_drying(face, critical, 0.03, 0.08, n * clock_scale);
        CHECK(dry.constant == Approx(drying_values()[std::string(id) + "-t1"]).epsilon(1e-5));
        CHECK(dry.total - dry.constant ==
              Approx(drying_values()[std::string(id) + "-t2"]).epsilon(1e-5));
        CHECK(dry.total == Approx(drying_values()[std::string(id) + "-t"]).epsilon(1e-5));
        // the water between start and final moisture has left
        CHECK(dry.removed(0.0, dry.total) * n ==
              Approx(face.water - 0.08 * face.solids).epsilon(1e-9));
    }
    // free water, one face and two (D01, D02)
    const FaceDrying one = face_drying({0.060, 0.0, {}}, 0.5, 0.03, 0.08, n * clock_scale);
    CHECK(one.total == Approx(drying_values()["D01"]).epsilon(1e-5));
    const FaceDrying both = face_drying({0.030, 0.0, {}}, 0.5, 0.03, 0.08, n * clock_scale);
    CHECK(both.total == Approx(drying_values()["D02"]).epsilon(1e-5));
}

TEST_CASE("falling rate follows the linear characteristic curve", "[drying]") {
    // rows D2: free moisture after phi time constants = exp(-phi)
    const FaceDrying dry = face_drying(wet_film(40, 0.4), 0.5, 0.03, 0.04, 0.01);
    for (const char* phi : {"0.1", "0.25", "0.5", "0.75", "0.9"}) {
        const double at = dry.constant + std::stod(phi) * dry.scale;
        CHECK(dry.rate(at) == Approx(drying_values()[std::string("D2-") + phi]).epsilon(1e-5));
    }
    CHECK(dry.rate(0.5 * dry.constant) == 1.0);
}

TEST_CASE("Treybal illustration 12.3: the constant-rate part of a drying time",
          "[drying][published]") {
    // 40 kg/m² dry, X 0.3333 -> 0.200 at 0.3e-3 kg/(m² s); the falling part is the book's graphical
    // integral 1060.
    const FaceDrying dry =
        face_drying({40.0 / 3.0, 40.0, {}}, 0.200, 0.05, 0.0638, 0.3e-3 * clock_scale);
    CHECK((dry.constant + 40.0 * 1060.0) / 3600.0 == Approx(drying_values()["G06"]).epsilon(1e-4));
    CHECK((dry.constant + 40.0 * 1060.0) / 3600.0 ==
          Approx(16.7).epsilon(0.005));  // printed answer, from memory
}

TEST_CASE("a face that starts below its critical moisture starts at a lower rate", "[drying]") {
    const WetFace face{0.004, 0.010, {}};  // X0 0.4 < X_c 0.5
    const FaceDrying dry = face_drying(face, 0.5, 0.03, 0.08, 0.01);
    CHECK(dry.rate(0.0) == Approx((0.4 - 0.03) / (0.5 - 0.03)).epsilon(1e-12));
    CHECK(dry.total == Approx(0.010 * 0.47 / 0.01 * 1000.0 * std::log((0.4 - 0.03) / (0.08 - 0.03)))
                           .epsilon(1e-12));
    CHECK(face_drying({0.0008, 0.010, {}}, 0.5, 0.03, 0.08, 0.01).total == 0.0);  // dry already
}

TEST_CASE("stages carry the work and the water exactly", "[drying]") {
    const FaceDrying print = face_drying(wet_film(80, 0.4), 0.5, 0.03, 0.08, 0.008);
    const FaceDrying squeegee = face_drying(wet_film(120, 0.4), 0.5, 0.03, 0.08, 0.008);
    for (int pieces : {1, 2, 5}) {
        const DryingLoad load = stages_of(print, squeegee, 0.05, pieces);
        CHECK(load.work() == Approx(squeegee.total).epsilon(1e-12));
        double weight = 0.0;
        for (const Stage& s : load.stages)
            weight += s.work * s.share;
        CHECK(weight == Approx(0.05 * (print.removed(0, squeegee.total) +
                                       squeegee.removed(0, squeegee.total)))
                            .epsilon(1e-12));
        for (std::size_t i = 1; i < load.stages.size(); ++i)
            CHECK(load.stages[i].share < load.stages[i - 1].share);
    }
    CHECK(stages_of(print, print, 0.05).stages.size() == 3);  // constant, two falling
    CHECK(stages_of(print, squeegee, 0.05).stages.size() == 4);
    CHECK(stages_of(print, print, 0.05).stages[0].share ==
          Approx(0.10).epsilon(1e-12));  // two faces
}

TEST_CASE("drying time in a constant load", "[drying]") {
    DryingLoad load;
    load.stages = {{600.0, 0.5}, {300.0, 0.25}};
    // alone: 600/(2/1.5) + 300/(2/1.25) = 450 + 187.5; with 0.5 beside: 600/(2/2) + 300/(2/1.75) =
    // 600 + 262.5
    CHECK(drying_time(load, {2.0}, 0.0) == Seconds{638});
    CHECK(drying_time(load, {2.0}, 0.5) == Seconds{863});
    // cap 0.4: min(1.333, 0.4/0.5) = 0.8 -> 750; min(1.6, 0.4/0.25 = 1.6) -> 187.5
    CHECK(drying_time(load, {2.0, 0.4}, 0.0) == Seconds{938});
}

TEST_CASE("the drying curve ends dry, at the time of the stages", "[drying]") {
    WetScreen screen;
    screen.area = 0.4;
    screen.print = wet_film(80, 0.4);
    screen.squeegee = wet_film(120, 0.4);
    const double k = 0.008;
    DryingLoad load = stages_of(face_drying(screen.print, 0.5, 0.03, 0.08, k),
                                face_drying(screen.squeegee, 0.5, 0.03, 0.08, k), 0.03);
    load.conductance = k;
    for (int count : {1, 10}) {
        const auto curve = drying_curve(screen, load, {6.0}, count);
        CHECK(curve.front().water ==
              Approx(screen.print.water + screen.squeegee.water).epsilon(1e-12));
        for (std::size_t i = 1; i < curve.size(); ++i)
            CHECK(curve[i].water < curve[i - 1].water);
        // the later face ends at X_f, the other one below it
        CHECK(curve.back().water < 0.08 * (screen.print.solids + screen.squeegee.solids));
        CHECK(curve.back().water > 0.03 * (screen.print.solids + screen.squeegee.solids));
        CHECK(curve.back().seconds == Approx(together_seconds(load, {6.0}, count))
                                          .epsilon(1e-9));  // work x (1 + n share) both ways
    }
    CHECK(together_seconds(load, {6.0}, 1) == Approx(drying_seconds(load, {6.0}, 0.0)));
}
