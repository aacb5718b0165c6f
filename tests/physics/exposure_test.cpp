#include "model/physics/exposure.hpp"

#include <cmath>

#include "model/physics/mesh.hpp"
#include "tests/catch.hpp"

// Source of the numbers: the inverse-square law, equal dose and Beer's law as arithmetic, computed
// independently of this code (see docs/physics.md#exposure); rules of the trade are marked "common
// practice, no source".

using namespace model;
using namespace model::physics;

TEST_CASE("inverse-square law", "[exposure]") {
    const double cases[][4] = {{60, 50, 100, 240},
                               {60, 100, 75, 33.75},
                               {120, 80, 120, 270},
                               {90, 60, 61, 93.025},
                               {100, 100, 110, 121}};
    for (const auto& [t, from, to, expected] : cases)
        CHECK(inverse_square(t, Centimetres{from}, Centimetres{to}) ==
              Approx(expected).epsilon(1e-12));
}

TEST_CASE("irradiance at the edge of the image", "[exposure]") {
    const double cases[][5] = {{100, 30, 0.917431, 0.878740, 0.841680},
                               {100, 50, 0.8, 0.715542, 0.64},
                               {80, 50, 0.719101, 0.609797, 0.517106},
                               {150, 50, 0.9, 0.853815, 0.81}};
    for (const auto& [d, r, c2, c3, c4] : cases) {
        CHECK(edge_irradiance(Centimetres{d}, Centimetres{r}, 2) == Approx(c2).epsilon(1e-6));
        CHECK(edge_irradiance(Centimetres{d}, Centimetres{r}, 3) == Approx(c3).epsilon(1e-6));
        CHECK(edge_irradiance(Centimetres{d}, Centimetres{r}, 4) == Approx(c4).epsilon(1e-6));
    }
}

TEST_CASE("equal dose", "[exposure]") {
    // 600 mJ/cm² at 12, 9.6 and 6 mW/cm²: 50, 62.5, 100 s
    CHECK(equal_dose(50.0, 12.0, 9.6) == Approx(62.5).epsilon(1e-12));
    CHECK(equal_dose(50.0, 12.0, 6.0) == Approx(100.0).epsilon(1e-12));
}

TEST_CASE("lamp ageing to 70 % at 1000 h", "[exposure]") {
    const double cases[][5] = {{0, 1, 60, 1, 60},
                               {250, 0.925, 64.8649, 0.914691, 65.5959},
                               {500, 0.850, 70.5882, 0.836660, 71.7137},
                               {750, 0.775, 77.4194, 0.765286, 78.4021},
                               {1000, 0.7, 85.7143, 0.7, 85.7143}};
    for (const auto& [hours, linear, s_linear, exponential, s_exponential] : cases) {
        CHECK(lamp_output_linear(hours, 0.7) == Approx(linear).epsilon(1e-6));
        CHECK(equal_dose(60.0, 1.0, lamp_output_linear(hours, 0.7)) ==
              Approx(s_linear).epsilon(1e-6));
        CHECK(lamp_output(hours, 0.7) == Approx(exponential).epsilon(1e-6));
        CHECK(equal_dose(60.0, 1.0, lamp_output(hours, 0.7)) ==
              Approx(s_exponential).epsilon(1e-6));
    }
}

TEST_CASE("a warm-up ramp loses half its length", "[exposure]") {
    CHECK(with_ramp(60.0, 10.0) == 65.0);
    CHECK(with_ramp(5.0, 10.0) == 10.0);                         // just reached full output
    CHECK(with_ramp(1.25, 10.0) == Approx(5.0).epsilon(1e-12));  // t²/(2·10) = 1.25
}

TEST_CASE("exposure time of a screen, factor by factor", "[exposure]") {
    Emulsion emulsion;
    emulsion.base_exposure = Seconds{60};
    emulsion.base_distance = Centimetres{100};
    const Mesh mesh;
    CoatPlan plan;
    emulsion.base_stencil = dry_stencil(mesh, plan, emulsion);
    Lamp lamp;
    lamp.distance = Centimetres{110};
    lamp.output_at_1000_h = 0.85;
    lamp.hours = 1000;
    // 60 s x 1.21 / 0.85 = 85.4118 s
    CHECK(exposure_time(emulsion, lamp, mesh, plan).seconds() == Approx(85.4118).epsilon(1e-6));
    CHECK(exposure_seconds(emulsion, lamp, mesh, plan) == Seconds{86});
    // an integrator counts the dose: its setting leaves ageing out, the clock does not
    CHECK(exposure_time(emulsion, lamp, mesh, plan).setting(true) == Approx(72.6).epsilon(1e-9));
    CHECK(exposure_time(emulsion, lamp, mesh, plan).setting(false) ==
          Approx(85.4118).epsilon(1e-6));
    // dyed mesh and twice the stencil
    Mesh dyed = mesh;
    dyed.dyed = true;
    emulsion.base_stencil = 0.5 * emulsion.base_stencil;
    CHECK(exposure_time(emulsion, lamp, dyed, plan).seconds() ==
          Approx(2 * 1.75 * 85.4118).epsilon(1e-6));
    // tubes and arrays: distance does not count
    lamp.kind = LampKind::Fluorescent;
    CHECK(exposure_time(emulsion, lamp, mesh, plan).distance == 1.0);
}

TEST_CASE("a shop calibrates with the screen that it knows", "[exposure]") {
    Room room;
    room.meshes = {{.name = "43-80", .count = ThreadsPerCm{43}, .thread = Micrometres{80}},
                   {.name = "120-34"}};
    room.coat_plans = {{.name = "2+2"}};
    room.emulsions = {{.name = "blue",
                       .base_exposure = Seconds{75},
                       .wet_film_given = Micrometres{15},
                       .calibrated_plan = "2+2",
                       .calibrated_mesh = "120-34"}};
    settle_exposure(room);
    Lamp lamp;
    lamp.distance = Centimetres{100};
    const CoatPlan& plan = room.coat_plans[0];
    const auto seconds = [&](std::size_t mesh) {
        return exposure_time(room.emulsions[0], lamp, room.meshes[mesh], plan).seconds();
    };
    CHECK(seconds(1) == Approx(75.0).epsilon(1e-12));
    // 43-80: opening 152.558 of 232.558 µm, (0.655998)² x 120 = 51.640 µm; 120-34 holds 17.874 µm:
    // 75 s x (60 + 51.640) / (60 + 17.874) = 107.52 s
    CHECK(seconds(0) == Approx(107.52).epsilon(1e-4));
    // A calibrated screen on dyed mesh: its dye is in the time already.
    room.meshes[1].dyed = true;
    settle_exposure(room);
    CHECK(seconds(1) == Approx(75.0).epsilon(1e-12));
    CHECK(seconds(0) == Approx(107.52 / 1.75).epsilon(1e-4));
}

TEST_CASE("a wet film that is left out is what the calibrated stencil implies", "[exposure]") {
    Room room;
    room.meshes = {{.name = "120-34"}};
    room.coat_plans = {{.name = "1+1", .print_side = 1, .squeegee_side = 1}, {.name = "2+2"}};
    room.emulsions = {{.name = "blue", .stencil_given = Micrometres{28}},
                      {.name = "green",
                       .stencil_given = Micrometres{28},
                       .calibrated_plan = "2+2",
                       .calibrated_mesh = "120-34"},
                      {.name = "pink", .stencil_given = Micrometres{2}}};
    settle_exposure(room);
    // 28 / 0.368737 = 75.935 µm wet, 17.874 of them in the mesh: 58.061 over 2 coats, or over 4
    CHECK(room.emulsions[0].wet_film.value == Approx(29.030).epsilon(1e-4));
    CHECK(room.emulsions[1].wet_film.value == Approx(14.515).epsilon(1e-4));
    CHECK(room.emulsions[1].base_stencil.value == Approx(28.0).epsilon(1e-9));
    CHECK(dry_stencil(room.meshes[0], room.coat_plans[0], room.emulsions[0]).value ==
          Approx(28.0).epsilon(1e-9));
    CHECK(room.emulsions[2].wet_film.value == 1.0);  // less than fills the mesh: no film is thinner
}

TEST_CASE("wash-out grows with the stencil", "[exposure]") {
    Emulsion emulsion;
    const Mesh mesh;
    const CoatPlan plan;
    emulsion.base_stencil = dry_stencil(mesh, plan, emulsion);
    CHECK(wash_out_factor(mesh, plan, emulsion) == Approx(1.0).epsilon(1e-12));
    emulsion.base_stencil = 0.5 * emulsion.base_stencil;  // twice as thick: half of the growth
    CHECK(wash_out_factor(mesh, plan, emulsion) == Approx(1.5).epsilon(1e-12));
    emulsion.wash_out_growth = 0.0;
    CHECK(wash_out_factor(mesh, plan, emulsion) == 1.0);
}

// Common practice, no source: lamp distance at least 1.5 x the image's diagonal, fluorescent
// excepted.
TEST_CASE("least lamp distance names the missing centimetres", "[exposure][common-practice]") {
    Lamp lamp;
    lamp.distance = Centimetres{100};
    const Area image{Centimetres{60}, Centimetres{80}};  // diagonal 100 cm
    CHECK(diagonal(image).value == Approx(100.0).epsilon(1e-12));
    REQUIRE(missing_distance(lamp, image));
    CHECK(missing_distance(lamp, image)->value == Approx(50.0).epsilon(1e-12));
    CHECK(inverse_square(1.0, lamp.distance, Centimetres{150}) == Approx(2.25).epsilon(1e-12));
    lamp.distance = Centimetres{150};
    CHECK_FALSE(missing_distance(lamp, image));
    lamp.distance = Centimetres{10};
    lamp.kind = LampKind::Fluorescent;
    CHECK_FALSE(missing_distance(lamp, image));
}

// Common practice, no source: 50 % and four times 25 %.
TEST_CASE("step wedge: five strips from one stencil", "[exposure][common-practice]") {
    const auto plan = wedge_plan(60.0);
    REQUIRE(plan.size() == 5);
    const double totals[] = {30, 45, 60, 75, 90};
    for (std::size_t i = 0; i < 5; ++i) {
        CHECK(plan[i].total == Approx(totals[i]).epsilon(1e-12));
        CHECK(plan[i].masked == static_cast<int>(i));
        CHECK(plan[i].seconds == Approx(i == 0 ? 30.0 : 15.0).epsilon(1e-12));
    }
    CHECK(read_wedge(60.0, plan, 4) == Approx(75.0).epsilon(1e-12));  // step 4 was best
    CHECK(read_wedge(60.0, plan, 3) == Approx(60.0).epsilon(1e-12));
    // geometric variant, ratio sqrt 2
    const double geometric[] = {50.0, 70.710678, 100.0, 141.421356, 200.0};
    CHECK(wedge_plan(60.0, geometric).back().total == Approx(120.0).epsilon(1e-12));
}

TEST_CASE("21-step grey scale", "[exposure]") {
    CHECK(read_grey_scale(60.0, 5, 7) == Approx(60.0 * 1.99526).epsilon(1e-5));
    CHECK(read_grey_scale(60.0, 9, 7) == Approx(60.0 * 0.50119).epsilon(1e-5));
}

TEST_CASE("families of equal dose", "[exposure]") {
    const double seconds[] = {100.0, 60.0, 64.0, 70.0, 104.9};
    const auto family = dose_families(seconds, 0.10);
    CHECK(family == std::vector<int>{2, 0, 0, 1, 2});  // 60-66, 70-77, 100-110
    CHECK(dose_families(seconds, 0.0) == std::vector<int>{3, 0, 1, 2, 4});
    CHECK(dose_families({}, 0.1).empty());
}
