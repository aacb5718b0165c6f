// The figures that `coatroom check` prints, of rooms with two unlike places for a step.

#include "sched/report/physics/room_figures.hpp"

#include <algorithm>

#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

using namespace model;

namespace {

Station& place(Scenario& s, Step step) {
    return *std::find_if(s.room.stations.begin(), s.room.stations.end(), [&](const Station& x) {
        return std::count(x.does.begin(), x.does.end(), step) > 0;
    });
}

}  // namespace

TEST_CASE("two unlike cabinets and two units each say their time", "[report][figures]") {
    Diagnostics diagnostics;
    auto s = read_scenario(COATROOM_SOURCE "/scenarios/first-day", diagnostics);
    REQUIRE(s);
    const auto plain = sched::report::room_figures(*s);
    REQUIRE(plain.size() == 10);

    // A cupboard with typed minutes; a lamp at half the distance.
    Station cupboard = place(*s, Step::DryCoat);
    cupboard.name = "cupboard";
    cupboard.does = {Step::DryCoat};
    cupboard.air.reset();  // 40 min, common practice
    place(*s, Step::Expose).lamp->kind = LampKind::MetalHalide;
    Station lamp = place(*s, Step::Expose);
    lamp.name = "near lamp";
    lamp.lamp->distance.value /= 2.0;
    Station tiny = lamp;  // takes no frame of the orders: says nothing
    tiny.name = "tiny";
    tiny.lamp->distance.value /= 2.0;
    tiny.largest_frame = Area{Centimetres{20}, Centimetres{30}};
    s->room.stations.insert(s->room.stations.end(), {cupboard, lamp, tiny});
    const auto figures = sched::report::room_figures(*s);
    REQUIRE(figures.size() == 12);
    CHECK(figures[2].name == "  in cupboard");
    CHECK(figures[2].says == "40 min");
    // 25 s calibrated at the far lamp; a quarter of it by the inverse-square law, whole seconds.
    CHECK(figures[4].says == "25 s, photopolymer B");
    CHECK(figures[5].name == "  at near lamp");
    CHECK(figures[5].says == "7 s");
}
