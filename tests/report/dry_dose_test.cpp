#include <nlohmann/json.hpp>

#include "sched/report/physics/dose_report.hpp"
#include "sched/report/physics/dry_report.hpp"
#include "sched/report/physics/physics_json.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace sched::report;

namespace {

/// A small invented room: a cabinet of 12 places, a lamp, two coat plans.
Room physics_room() {
    Room room;
    room.invented = true;
    Station cabinet;
    cabinet.name = "cabinet";
    cabinet.places = 12;
    cabinet.air = CabinetAir{};
    cabinet.air->supply = CubicMetresPerHour{80};
    Station unit;
    unit.name = "unit";
    unit.lamp = Lamp{};
    unit.lamp->distance = Centimetres{110};
    Station rack;
    rack.name = "rack";
    room.stations = {rack, cabinet, unit};
    Mesh fine, coarse;
    fine.name = "120-34";
    coarse.name = "54-64";
    coarse.count = ThreadsPerCm{54};
    coarse.thread = Micrometres{64};
    room.meshes = {fine, coarse};
    Emulsion emulsion;
    emulsion.name = "amber";
    emulsion.base_exposure = Seconds{60};
    room.emulsions = {emulsion};
    CoatPlan heavy, light;
    heavy.name = "2+2";
    light.name = "1+1";
    light.print_side = light.squeegee_side = 1;
    room.coat_plans = {heavy, light};
    room.climate = Climate{};
    room.climate->named_days["damp"] = {Celsius{24}, RelativeHumidity{0.75}};
    room.climate->named_days["dry"] = {Celsius{20}, RelativeHumidity{0.30}};
    return room;
}

}  // namespace

TEST_CASE("drying report: more screens and damper air take longer", "[dry]") {
    std::string problem;
    const auto report = dry_report(physics_room(), {}, problem);
    REQUIRE(report);
    CHECK(report->loads == std::vector<int>{1, 3, 6, 12});
    REQUIRE(report->climates.size() == 3);
    CHECK(report->climates[0].name == "usual air");
    for (const DryClimate& c : report->climates) {
        for (std::size_t i = 1; i < c.times.size(); ++i)
            CHECK(c.times[i] > c.times[i - 1]);
        // the curve is the same model with a smooth falling rate
        CHECK(c.curve.back().seconds ==
              Approx(static_cast<double>(c.times.front().count())).margin(1.5));
        CHECK(c.curve_full.back().seconds ==
              Approx(static_cast<double>(c.times.back().count())).margin(1.5));
    }
    CHECK(report->climates[1].name == "damp day");
    CHECK(report->climates[1].times[0] > report->climates[0].times[0]);
    CHECK(report->climates[2].times[0] < report->climates[0].times[0]);
    const std::string text = dry_text(*report);
    CHECK(text.find("2+2 of amber on 120-34, frame 58 x 84 cm in cabinet") != std::string::npos);
    CHECK(text.find("flammable") != std::string::npos);
    CHECK(dry_svg(*report).find("<svg") == 0);
    const std::string page = dry_page(*report);
    CHECK(page.find("Content-Security-Policy") != std::string::npos);
    // The answer first; every curve carries its own label and ends on the dry line.
    const auto up = [](Seconds t) { return std::to_string((t.count() + 59) / 60) + " min"; };
    const DryClimate& usual = report->climates[0];
    CHECK(page.find("class=\"lead\">In " + usual.name + ": " + up(usual.times.front()) +
                    " alone, " + up(usual.times.back()) + " with all 12 places taken.") !=
          std::string::npos);
    for (const DryClimate& c : report->climates) {
        CHECK(page.find(">" + c.name + ", alone: ") != std::string::npos);
        CHECK(page.find(">" + c.name + ", 12 inside: ") != std::string::npos);
    }
    CHECK(page.find(">dry: ") != std::string::npos);
    CHECK(page.find("nan") == std::string::npos);
}

TEST_CASE("drying report: unknown names and typed cabinets are refused with the reason", "[dry]") {
    const Room room = physics_room();
    const auto reason = [&](const DryQuestion& q) {
        std::string problem;
        CHECK_FALSE(dry_report(room, q, problem));
        return problem;
    };
    CHECK(reason({.cabinet = "oven"}) == "the room has no station oven");
    CHECK(reason({.cabinet = "rack"}) ==
          "rack has no air in room.yaml: its drying times are typed, not computed");
    CHECK(reason({.coat_plan = "9+9"}) == "the room has no coat plan 9+9");
}

TEST_CASE("air too damp for a coat is said, not computed", "[dry]") {
    Room room = physics_room();
    room.stations[1].air->heater = Watts{0};
    room.stations[1].air->temperature = Celsius{20};
    std::string problem;
    const auto report = dry_report(room, {.air = Air{Celsius{20}, RelativeHumidity{0.9}}}, problem);
    REQUIRE(report);
    CHECK_FALSE(report->climates[0].reachable);
    CHECK(dry_text(*report).find("never dry") != std::string::npos);
    CHECK(dry_page(*report).find("never") != std::string::npos);
}

TEST_CASE("observed times become lines for room.yaml", "[dry]") {
    const Room room = physics_room();
    std::string problem;
    // times of a cabinet with transfer factor 1.5, read off this program's own table
    Room brisk = room;
    brisk.stations[1].air->transfer_factor = 1.5;
    const auto truth = dry_report(brisk, {.air = Air{Celsius{21}, RelativeHumidity{0.5}}}, problem);
    const auto mesh = dry_report(
        brisk, {.kind = WetKind::Mesh, .air = Air{Celsius{21}, RelativeHumidity{0.5}}}, problem);
    REQUIRE(truth);
    const auto line = [](const char* plan, int load, Seconds t) {
        return std::string(plan) + ", 21 °C, 50 %, " + std::to_string(load) + ", " +
               std::to_string(t.count()) + " s";
    };
    const auto fit = dry_fit(
        room, {},
        {line("2+2", 1, truth->climates[0].times[0]), line("2+2", 12, truth->climates[0].times[3]),
         line("mesh", 1, mesh->climates[0].times[0])},
        problem);
    CHECK(problem == "");
    REQUIRE(fit);
    CHECK(fit->fit.transfer_factor == Approx(1.5).epsilon(0.005));
    CHECK(fit->fit.critical_moisture == Approx(0.5).epsilon(0.02));
    CHECK(dry_fit_text(*fit).find("transfer factor: 1.50") != std::string::npos);
    CHECK_FALSE(dry_fit(room, {}, {"2+2, 21 °C, 32 min"}, problem));
    CHECK(problem.find("is no observation") != std::string::npos);
    problem.clear();
    CHECK_FALSE(dry_fit(room, {}, {"2+2, 21 °C, 50 %, 0, 32 min"}, problem));
    CHECK(problem == "\"2+2, 21 °C, 50 %, 0, 32 min\": 0 is no number of screens (1 to 1000)");
}

TEST_CASE("dose report: factors, families, lamp distance, mesh rules", "[dose]") {
    const Room room = physics_room();
    Order order;
    order.name = "A17";
    model::ScreenLine fine, halftone;
    fine.mesh = "120-34";
    fine.emulsion = "amber";
    fine.coat_plan = "2+2";
    fine.image = Area{Centimetres{60}, Centimetres{80}};  // diagonal 100 cm: lamp at least 150 cm
    halftone = fine;
    halftone.mesh = "54-64";
    halftone.coat_plan = "1+1";
    halftone.image.reset();
    halftone.ruling = LinesPerCm{30};
    order.lines = {fine, halftone};
    std::string problem;
    const auto report = dose_report(room, {order}, {.order = "A17"}, problem);
    REQUIRE(report);
    REQUIRE(report->lines.size() == 2);
    CHECK(report->lines[0].time.distance == Approx(1.21).epsilon(1e-12));
    REQUIRE(report->lines[0].missing_distance);
    CHECK(report->lines[0].missing_distance->value == Approx(40.0).epsilon(1e-9));
    CHECK(report->lines[1].mesh_complaints.size() == 1);
    CHECK(report->families == std::vector<int>{1, 0});  // thick stencil needs the longer time
    const std::string text = dose_text(*report);
    CHECK(text.find("A17 line 1") != std::string::npos);
    CHECK(text.find("40.0 cm too near") != std::string::npos);
    CHECK(text.find("never look into the lamp") != std::string::npos);
    const std::string page = dose_page(*report);
    CHECK(page.find("Exposure times of order A17") != std::string::npos);
    CHECK(page.find("line 1: 2+2 of amber on ") != std::string::npos);
    CHECK(page.find("40.0 cm too near") != std::string::npos);
    CHECK(page.find("family 2") != std::string::npos);
    CHECK_FALSE(dose_report(room, {order}, {.order = "B1"}, problem));
    CHECK(problem == "there is no order B1");
}

TEST_CASE("wedge report: plan and reading", "[dose]") {
    std::string problem;
    const auto plan = wedge_report(physics_room(), {}, {}, std::nullopt, problem);
    REQUIRE(plan);
    REQUIRE(plan->steps.size() == 5);
    CHECK(plan->steps[2].total == Approx(plan->line.time.seconds()).epsilon(1e-12));
    const auto read = wedge_report(physics_room(), {}, {}, 4, problem);
    REQUIRE(read);
    CHECK(read->new_base == Approx(75.0).epsilon(1e-12));  // 60 s x 125 %
    CHECK(wedge_text(*read).find("time: 75 s") != std::string::npos);
    // The page draws the strips as they lie, each with its seconds, and marks the one that was
    // best.
    const std::string page = wedge_page(*read);
    CHECK(page.find("is <b>75 s</b>, was 60 s.") != std::string::npos);
    std::size_t strips = 0;
    for (auto at = page.find("<svg class=\"strip\""); at != std::string::npos;
         at = page.find("<svg class=\"strip\"", at + 1))
        ++strips;
    CHECK(strips == 5);
    CHECK(page.find("<li class=\"read\"><span>4</span>") != std::string::npos);
    CHECK(wedge_page(*plan).find("class=\"read\"") == std::string::npos);
    CHECK_FALSE(wedge_report(physics_room(), {}, {}, 6, problem));
    problem.clear();
    CHECK_FALSE(wedge_report(physics_room(), {}, {50, 50}, std::nullopt, problem));
    CHECK(problem == "percentages must rise, from above 0 to at most 1000");
}

TEST_CASE("the JSON forms say what the texts say", "[dry][dose]") {
    std::string problem;
    const auto dry = dry_report(physics_room(), {}, problem);
    REQUIRE(dry);
    const auto j = nlohmann::json::parse(dry_json(*dry));
    REQUIRE(j["climates"].size() == dry->climates.size());
    CHECK(j["climates"][0]["loads"][3]["screens"] == 12);
    CHECK(j["climates"][0]["loads"][3]["time_s"] == dry->climates[0].times[3].count());
    CHECK(j["wet"]["print"]["water_g_per_m2"].get<double>() ==
          Approx(1000.0 * dry->wet.print.water));
    const auto dose = dose_report(physics_room(), {}, {}, problem);
    REQUIRE(dose);
    const auto d = nlohmann::json::parse(dose_json(*dose));
    CHECK(d["lines"][0]["lamp_on_s"].get<double>() == Approx(dose->lines[0].time.seconds()));
    const auto wedge = wedge_report(physics_room(), {}, {}, 4, problem);
    REQUIRE(wedge);
    const auto w = nlohmann::json::parse(wedge_json(*wedge));
    // Step 4 of 50, 75, 100, 125, 150 % was best: a quarter longer.
    CHECK(w["new_calibrated_s"].get<double>() == Approx(1.25 * w["calibrated_s"].get<double>()));
    REQUIRE(w["steps"].size() == 5);
}
