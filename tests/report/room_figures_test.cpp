// The figures that `coatroom check` prints, of rooms with two unlike places for a step.

#include "sched/report/physics/room_figures.hpp"

#include <algorithm>

#include "model/base/units.hpp"
#include "model/read/scenario.hpp"
#include "model/room/steps.hpp"
#include "sched/report/physics/dry_report.hpp"
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

TEST_CASE("figures are of the screen that is made: face coats, two people, large frames",
          "[report][figures]") {
    Diagnostics diagnostics;
    auto s = read_scenario(COATROOM_SOURCE "/scenarios/first-day", diagnostics);
    REQUIRE(s);
    const auto figure = [](const Scenario& of, const char* name) {
        for (const auto& f : sched::report::room_figures(of)) {
            if (f.name == name) return f.says;
        }
        return std::string();
    };
    const std::string one = figure(*s, "hands");
    // Everything by two people: twice the hands, half the screens.
    Scenario two = *s;
    two.room.limits.two_people_from = Area{Centimetres{10}, Centimetres{10}};
    two.room.limits.two_people_for.clear();  // everything
    const auto minutes_of = [](const std::string& says) { return std::stoi(says); };
    CHECK(minutes_of(figure(two, "hands")) >= 2 * minutes_of(one) - 1);
    CHECK(minutes_of(figure(two, "hands")) <= 2 * minutes_of(one));
    // Two face coats of 1 min and 50 min to dry each, hung up and taken out.
    const auto& made = s->orders.front().lines.front();
    Scenario face = *s;
    for (auto& plan : face.room.coat_plans) {
        plan.face = 2;
        plan.dry_face = minutes(50);
    }
    face.room.steps[Step::FaceCoat] = {.attended = minutes(1)};
    const Seconds more = 2 * (minutes(51) + time_of(face.room, Step::DryFace).attended +
                              time_of(face.room, Step::TakeOut).attended);
    const auto length = [&](const Scenario& of) {
        const std::string says = figure(of, "clean mesh to ready");
        const auto h = says.find(" h ");
        if (h == std::string::npos) return minutes(std::stoi(says));
        return hours(std::stoi(says)) + minutes(std::stoi(says.substr(h + 3)));
    };
    CHECK(std::abs((length(face) - length(*s) - more).count()) <= 60);  // shown by the minute
    // A frame of four times the area takes more than twice the emulsion, and stands below.
    Scenario large = *s;
    auto big = made;
    big.frame =
        Area{Centimetres{2.0 * made.frame.width.value}, Centimetres{2.0 * made.frame.height.value}};
    big.count = 1;
    large.orders.front().lines.push_back(big);
    CHECK(figure(large, ("  of " + model::format_size(big.frame)).c_str()).find(" ml of ") !=
          std::string::npos);
}

TEST_CASE("hands that cannot do the work do not count for it", "[report][figures]") {
    Diagnostics diagnostics;
    auto s = read_scenario(COATROOM_SOURCE "/scenarios/first-day", diagnostics);
    REQUIRE(s);
    const auto hands = [&] { return sched::report::room_figures(*s).back().says; };
    Room& room = s->room;
    // By hand: degrease 4, coat 4, expose 2, wash out 4, inspect 4 minutes, and carrying: three
    // cabinets' 20 s and 60 s, and 20 s to set it aside: 18 min that are learnt, 4 min 20 s not;
    // shown rounded up.
    for (const auto& [step, time] : {std::pair{Step::Degrease, 4},
                                     {Step::Coat, 4},
                                     {Step::Expose, 2},
                                     {Step::WashOut, 4},
                                     {Step::Inspect, 4},
                                     {Step::TakeOut, 1}})
        room.steps[step] = {.attended = minutes(time)};
    for (auto& plan : room.coat_plans)
        plan.coat.reset();
    for (const Step dry : {Step::DryMesh, Step::DryCoat, Step::DryStencil, Step::DryTouchUp})
        room.steps[dry] = {.attended = Seconds{20}, .stand = minutes(30)};
    const Shift day{.weekdays = {true, true, true, true, true, false, false},
                    .from = hours(6),
                    .to = hours(14)};
    room.people = {{.name = "Ada", .shifts = {day}}, {.name = "Ben", .shifts = {day}}};
    CHECK(hands() == "23 min a clean screen; 16 h 00 min a day make 42");  // 960 / 22.33
    // Ben carries only: Ada's 480 min make 480 / 18 = 26.
    room.people[1].can = {Step::TakeOut};
    CHECK(hands() == "23 min a clean screen, 18 min of it for Ada only; 8 h 00 min a day make 26");
    // Ben does all but exposing: Ada need do no more than that, so all hands count.
    room.people[1].can = {Step::Degrease, Step::Coat, Step::WashOut, Step::Inspect};
    CHECK(hands() == "23 min a clean screen; 16 h 00 min a day make 42");
    // An hour of Ada, who alone exposes (2 min): 30.
    room.people[0].shifts[0].to = hours(7);
    CHECK(hands() == "23 min a clean screen; 9 h 00 min a day make 24");  // 540 / 22.33
    room.people[0].shifts[0].to = hours(6) + minutes(20);
    CHECK(hands() == "23 min a clean screen, 2 min of it for Ada only; 20 min a day make 10");
}

// `coatroom dry` and `coatroom check` are asked of one room: what dries in the first cabinet is
// mesh alone, and the frames are larger than those of the demo.
TEST_CASE("asked without names, drying is that of the room's own cabinet and frame",
          "[report][figures]") {
    using namespace sched::report;
    Diagnostics diagnostics;
    auto s = read_scenario(COATROOM_SOURCE "/scenarios/first-day", diagnostics);
    REQUIRE(s);
    Station shed = place(*s, Step::DryCoat);
    shed.name = "shed";
    shed.does = {Step::DryMesh};
    shed.air->supply.value /= 2.0;
    s->room.stations.insert(s->room.stations.begin(), shed);
    for (auto& order : s->orders)
        for (auto& line : order.lines)
            line.frame = Area{Centimetres{90}, Centimetres{120}};
    CHECK(usual_frame(*s) == Area{Centimetres{90}, Centimetres{120}});
    std::string problem;
    const auto coat = dry_report(s->room, {.frame = usual_frame(*s)}, problem);
    REQUIRE(coat);
    CHECK(coat->cabinet == "cabinet");
    const auto mesh = dry_report(s->room, {.kind = WetKind::Mesh}, problem);
    REQUIRE(mesh);
    CHECK(mesh->cabinet == "shed");
    const auto figures = room_figures(*s);
    const auto same = std::find_if(figures.begin(), figures.end(), [](const RoomFigure& f) {
        return f.name.find("1+1 on 77-55 dries") != std::string::npos;
    });
    REQUIRE(same != figures.end());
    const auto minutes = (coat->climates.front().times.front().count() + 59) / 60;
    CHECK(same->says.find(std::to_string(minutes) + " min alone") == 0);
    CHECK(!usual_frame(Scenario{}));
}

// Nights from ten to six and afternoons have breaks of their own; a Thursday ends before lunch.
TEST_CASE("of a day's hands only the breaks of its shifts are off", "[report][figures]") {
    using namespace sched::report;
    Diagnostics diagnostics;
    auto s = read_scenario(COATROOM_SOURCE "/scenarios/first-day", diagnostics);
    REQUIRE(s);
    const auto hands = [&] {
        const auto figures = room_figures(*s);
        const auto found = std::find_if(figures.begin(), figures.end(),
                                        [](const RoomFigure& f) { return f.name == "hands"; });
        REQUIRE(found != figures.end());
        return found->says;
    };
    Person& ada = s->room.people[0];
    Shift night{.from = hours(22), .to = hours(30)}, afternoon{.from = hours(14), .to = hours(20)};
    night.weekdays[5] = afternoon.weekdays[0] = true;
    ada.shifts = {night, afternoon};
    ada.breaks = {{hours(2), hours(2), minutes(30)}, {hours(17), hours(17), minutes(30)}};
    CHECK(hands().find("7 h 30 min a day") != std::string::npos);
    afternoon.to = hours(17);
    afternoon.weekdays = {};
    afternoon.weekdays[3] = true;
    ada.shifts = {afternoon};
    CHECK(hands().find("3 h 00 min a day") != std::string::npos);
}
