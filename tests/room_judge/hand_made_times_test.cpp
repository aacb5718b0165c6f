// How long steps take, to the second, on plans that are written down here: what stands last, typed
// drying, hanging up and taking out, and drying that the air and the neighbours govern.

#include "model/physics/cabinet.hpp"
#include "tests/catch.hpp"
#include "tests/room_judge/hand_made.hpp"

using namespace sched;
using namespace hand_made;
using model::Step;

namespace {

// Somebody works on it, from then to then.
report::OperationLine& attended(Screens& x, const char* step, const char* place, SimTime from,
                                SimTime to) {
    add(x.plan, "S1", {{.step = step, .from = from, .to = to, .place = place, .people = {"Ada"}}});
    return x.plan.operations.back();
}

}  // namespace

// ---- typed times -------------------------------------------------------------------------------

TEST_CASE("what stands last is done when it has stood", "[found]") {
    // Degreased for 3 min 30 s, then it stands for 90 s.
    Screens x(1);
    x.step(1, "degrease", "reclaim sink", 600, 605);
    CHECK(x.saying("degrease S1 is done at") == 0);
    x.plan.operations[0].end -= Seconds{1};
    CHECK(x.saying("degrease S1 is done at") == 1);
}

TEST_CASE("typed drying is not cut short", "[found]") {
    Screens x(1);
    x.station("cabinet").air.reset();
    x.step(1, "dry-mesh", "cabinet", 600, 625);
    const auto short_of = [&](Seconds typed) {
        x.room.room.steps[Step::DryMesh] = {Seconds{20}, typed, {}};
        return x.saying("dry-mesh S1 takes " + model::format_duration(typed));
    };
    CHECK(short_of(minutes(25)) == 0);
    CHECK(short_of(minutes(25) + Seconds{1}) == 1);
    // docs/input.md: typed for a step it holds in a cabinet with air, too.
    x.station("cabinet").air = Screens(0).station("cabinet").air;
    CHECK(short_of(minutes(25) + Seconds{1}) == 1);
    x.room.room.steps[Step::DryMesh].stand_said = false;
    CHECK(x.saying("dry-mesh S1 takes " + model::format_duration(minutes(25) + Seconds{1})) == 0);
    // A coat plan's own time goes first.
    Screens y(1);
    y.room.room.steps[Step::DryCoat] = {Seconds{20}, minutes(90), {}};
    for (auto& plan : y.room.room.coat_plans)
        plan.dry_coat = minutes(40);
    y.step(1, "dry-coat", "cabinet", 600, 640);
    CHECK(y.saying("dry-coat S1 takes 40 min") == 0);
    y.plan.operations[0].work_end -= Seconds{1};
    CHECK(y.saying("dry-coat S1 takes 40 min, planned are") == 1);
}

TEST_CASE("hanging up and taking out take a person as long as room.yaml says", "[found]") {
    const auto hanging = [](int seconds) {
        Screens x(1);
        x.room.room.steps[Step::DryMesh] = {Seconds{20}, minutes(25), {}};
        attended(x, "dry-mesh", "cabinet", at(10, 0), at(10, 0, seconds));
        x.step(1, "dry-mesh", "cabinet", 601, 626);
        return std::pair{x.saying("dry-mesh S1 takes a person"),
                         x.saying("dry-mesh S1 keeps a person")};
    };
    CHECK(hanging(20) == std::pair{0, 0});
    CHECK(hanging(19) == std::pair{1, 0});
    CHECK(hanging(21) == std::pair{0, 1});
    const auto taking_out = [](int seconds, int hand_over = 0, int farther = 0) {
        Screens x(1);
        x.station("rack").walk = Seconds{hand_over};
        x.room.room.stations.push_back({.name = "far rack", .does = {Step::TakeOut}});
        x.room.room.stations.back().walk = Seconds{farther};
        x.step(1, "dry-mesh", "cabinet", 570, 600);
        attended(x, "take-out", "rack", at(10, 0), at(10, 0, seconds));
        return std::pair{x.saying("take-out S1 takes a person"),
                         x.saying("take-out S1 keeps a person")};
    };
    CHECK(taking_out(60) == std::pair{0, 0});
    CHECK(taking_out(59) == std::pair{1, 0});
    CHECK(taking_out(61) == std::pair{0, 1});
    // The hand-over at the rack, or at the farthest: the rack is chosen last.
    CHECK(taking_out(69, 10) == std::pair{1, 0});
    CHECK(taking_out(70, 10) == std::pair{0, 0});
    CHECK(taking_out(70, 0, 10) == std::pair{0, 0});
    CHECK(taking_out(71, 0, 10) == std::pair{0, 1});
}

// ---- computed drying ---------------------------------------------------------------------------

namespace {

namespace physics = model::physics;

// Screens that hang in the cabinet from 10:00 on. The judge integrates in small steps with a smooth
// falling rate; here the planner's closed form says how long it should be (docs/physics.md).
struct Hanging : Screens {
    explicit Hanging(int count) : Screens(count) {}
    bool wrong(double seconds, const char* step = "dry-coat") {
        plan.operations.clear();
        plan.schedule.placements.clear();
        for (std::size_t i = 1; i <= plan.screens.size(); ++i) {
            auto& line = this->step(static_cast<int>(i), step, "cabinet", 600, 601);
            line.work_end = line.end = line.start + Seconds{std::lround(seconds)};
            line.place_until = line.end;
        }
        const int all = saying("in cabinet as it is filled");
        CHECK((all == 0 || all == static_cast<int>(plan.screens.size())));
        return all > 0;
    }
    physics::Cabinet cabinet(const model::Air& reference) {
        return physics::make_cabinet(*station("cabinet").air, reference,
                                     room.room.climate->pressure, room.room.drying);
    }
    physics::WetScreen coats() {
        const auto& r = room.room;
        const auto named = [](const auto& list, const std::string& name) {
            return *std::find_if(list.begin(), list.end(),
                                 [&](const auto& x) { return x.name == name; });
        };
        return physics::wet_coats(named(r.meshes, "77-55"), named(r.coat_plans, "2+2"),
                                  named(r.emulsions, "dual-cure A"), usual, r.drying);
    }
    double together(const physics::WetScreen& screen, const model::Air& air) {
        const auto box = cabinet(air);
        return physics::together_seconds(physics::drying_load(box, screen),
                                         physics::clock_step(box, air),
                                         static_cast<int>(plan.screens.size()));
    }
    // docs/checking.md: within three in a hundred and five seconds of what is planned.
    void wants(double right, const char* step = "dry-coat") {
        INFO(step << " " << right << " s");
        REQUIRE(right > 400.0);
        CHECK_FALSE(wrong(right, step));
        CHECK(wrong(0.93 * right - 10.0, step));
        CHECK(wrong(1.07 * right + 10.0, step));
    }
};

}  // namespace

TEST_CASE("computed drying is neither shorter nor longer than the cabinet makes it", "[found]") {
    Hanging one(1);
    const model::Air air = one.room.room.climate->air;
    const double alone = one.together(one.coats(), air);
    one.wants(alone);
    one.wants(one.together(physics::wet_mesh(usual, one.room.room.drying), air), "dry-mesh");
    one.wants(one.together(physics::wet_stencil(usual, one.room.room.drying), air), "dry-stencil");
    one.wants(
        one.together(
            physics::wet_face_coat(one.room.room.emulsions[0], usual, one.room.room.drying), air),
        "dry-face");
    // Twelve beside each other slow each other down.
    Hanging full(12);
    const double crowded = full.together(full.coats(), air);
    REQUIRE(crowded > 1.06 * alone);
    full.wants(crowded);
}

TEST_CASE("computed drying follows the day's name and weather.csv", "[found]") {
    Hanging x(1);
    auto& climate = *x.room.room.climate;
    const model::Air damp = climate.named_days.at("damp");
    x.plan.run.day = "damp";
    const double on_a_damp_day = x.together(x.coats(), damp);
    REQUIRE(on_a_damp_day > 1.15 * x.together(x.coats(), climate.air));
    x.wants(on_a_damp_day);
    // The same air by weather.csv, from the morning on: the loads stay those of the usual air.
    x.plan.run.day.reset();
    x.room.weather = {{.from = at(6, 0), .air = damp}, {.from = at(20, 0), .air = climate.air}};
    const auto box = x.cabinet(climate.air);
    const double damp_hours = physics::together_seconds(physics::drying_load(box, x.coats()),
                                                        physics::clock_step(box, damp), 1);
    x.wants(damp_hours);
    x.room.weather[0].from = at(19, 0);
    CHECK(x.wrong(damp_hours));
}

// ---- what orders and room say ------------------------------------------------------------------

// Common practice, no source: thread at most half the finest line, count at least 4 x the ruling.
TEST_CASE("where an order names no mesh, the image says which will do", "[found]") {
    Screens x(1);  // 77 threads a centimetre of 55 µm
    auto& line = x.room.orders[0].lines[0];
    line.mesh.reset();
    const auto refused = [&] { return x.saying("the mesh of S1 is not the order's"); };
    CHECK(refused() == 0);
    line.finest_line = model::Micrometres{110};
    CHECK(refused() == 0);
    line.finest_line = model::Micrometres{109};
    CHECK(refused() == 1);
    line.finest_line.reset();
    line.ruling = model::LinesPerCm{19.25};
    CHECK(refused() == 0);
    line.ruling = model::LinesPerCm{19.3};
    CHECK(refused() == 1);
}

TEST_CASE("the embedded problem has no more emulsion than room.yaml", "[found]") {
    Screens x(0);
    x.room.room.pots = {
        {.name = "P", .emulsion = "dual-cure A", .volume = model::Millilitres{500}}};
    core::Store store;
    store.name = "P";
    store.initial = 500;
    x.plan.problem.stores = {store};
    CHECK(x.saying("pot P holds") == 0);
    x.plan.problem.stores[0].initial = 501;
    CHECK(x.saying("pot P holds 500 ml, the embedded problem says 501") == 1);
}
