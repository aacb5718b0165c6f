// Each rule of the judge of the room, shown by a room in which the same plan would break it: the
// plan stays, one thing of the room changes.

#include <algorithm>
#include <functional>

#include "model/read/scenario.hpp"
#include "sched/check/room/judge.hpp"
#include "tests/catch.hpp"
#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"

using model::minutes;
using model::Scenario;
using model::Seconds;
using model::Step;

namespace {

const Scenario& demo() {
    static const Scenario read = [] {
        model::Diagnostics diagnostics;
        return *model::read_scenario(COATROOM_SOURCE "/scenarios/tomorrow", diagnostics);
    }();
    return read;
}

const sched::report::PlanDocument& plan() {
    static const auto made = *planned::plan(demo(), random_scenario::first_day(), 12).plan;
    return made;
}

long count(const std::vector<sched::check::room::Finding>& findings, const std::string& rule) {
    return std::count_if(findings.begin(), findings.end(),
                         [&](const auto& f) { return f.rule == rule; });
}

model::Area tiny() {
    return {model::Centimetres{20}, model::Centimetres{20}};
}

void each(Scenario& s, Step step, const std::function<void(model::Station&)>& change) {
    for (model::Station& x : s.room.stations) {
        if (std::find(x.does.begin(), x.does.end(), step) != x.does.end()) change(x);
    }
}

struct OtherRoom {
    const char* name;
    const char* rule;
    std::function<void(Scenario&)> change;
};

const std::vector<OtherRoom>& other_rooms() {
    const auto longer = [](Step step) {
        return [step](Scenario& s) { s.room.steps[step].attended += minutes(30); };
    };
    static const std::vector<OtherRoom> list = {
        {"remover dries sooner", "limit", [](auto& s) { s.room.limits.remover_max = Seconds{60}; }},
        {"remover works slower", "limit", [](auto& s) { s.room.limits.remover_min = minutes(60); }},
        {"dust settles sooner", "limit", [](auto& s) { s.room.limits.dry_to_coat = Seconds{-1}; }},
        {"exposed stencils harden sooner", "limit",
         [](auto& s) { s.room.limits.expose_to_wash = Seconds{1}; }},
        {"wet coats sag sooner", "limit",
         [](auto& s) { s.room.limits.coat_to_dry = minutes(-600); }},
        {"coats age sooner", "limit", [](auto& s) { s.room.limits.coated_shelf = Seconds{1}; }},
        {"a film comes late", "limit",
         [](auto& s) {
             for (auto& o : s.orders) {
                 for (auto& l : o.lines)
                     l.film_ready = o.due + minutes(6000);
             }
         }},
        {"nobody comes", "people",
         [](auto& s) {
             for (auto& p : s.room.people)
                 p.shifts.clear();
         }},
        {"somebody is away", "people",
         [](auto& s) { s.room.people[0].absent = {model::date_of(random_scenario::first_day())}; }},
        {"all frames are for two", "people",
         [](auto& s) { s.room.limits.two_people_from = tiny(); }},
        {"a further break", "break",
         [](auto& s) {
             const Seconds at = s.room.people[0].shifts[0].from + minutes(65);
             s.room.people[0].breaks.push_back({at, at, minutes(10)});
         }},
        {"a break is longer", "break",
         [](auto& s) {
             for (auto& p : s.room.people) {
                 for (auto& b : p.breaks)
                     b.length += minutes(25);
             }
         }},
        {"the room is larger", "walk", [](auto& s) { s.room.between_stations = minutes(10); }},
        {"the rack stands apart", "walk",
         [](auto& s) { each(s, Step::TakeOut, [](auto& x) { x.beside = "none"; }); }},
        {"somebody unlearns", "skill",
         [](auto& s) {
             for (auto& p : s.room.people)
                 p.can = {Step::Abrade};
         }},
        {"a smaller cabinet", "place",
         [](auto& s) { each(s, Step::DryCoat, [](auto& x) { x.places = 1; }); }},
        {"a smaller sink", "place",
         [](auto& s) { each(s, Step::Degrease, [](auto& x) { x.largest_frame = tiny(); }); }},
        {"slots for small frames", "place",
         [](auto& s) { each(s, Step::DryCoat, [](auto& x) { x.double_from = tiny(); }); }},
        {"the booth is closed", "place",
         [](auto& s) {
             each(s, Step::WashOut, [](auto& x) {
                 x.closed.emplace_back(random_scenario::first_day(),
                                       random_scenario::first_day() + minutes(3000));
             });
         }},
        {"the stand does nothing", "place",
         [](auto& s) { each(s, Step::Coat, [](auto& x) { x.does = {Step::Abrade}; }); }},
        {"white light at the stand", "light",
         [](auto& s) { each(s, Step::Coat, [](auto& x) { x.light_safe = false; }); }},
        {"the lamp moves back", "exposure",
         [](auto& s) {
             each(s, Step::Expose, [](auto& x) { x.lamp->distance = model::Centimetres{300}; });
         }},
        {"the lamp warms up longer", "exposure",
         [](auto& s) { each(s, Step::Expose, [](auto& x) { x.lamp->warm_up = minutes(300); }); }},
        {"a smaller blanket", "exposure",
         [](auto& s) { each(s, Step::Expose, [](auto& x) { x.blanket = tiny(); }); }},
        {"less in the pots", "pot",
         [](auto& s) {
             for (auto& p : s.room.pots)
                 p.volume = model::Millilitres{1};
         }},
        {"pots that end", "pot",
         [](auto& s) {
             for (auto& e : s.room.emulsions)
                 e.pot_life_room = e.pot_life_cold = minutes(1);
         }},
        {"bubbles stand longer", "pot",
         [](auto& s) {
             s.room.steps[Step::MixDissolve] = {minutes(4), minutes(600), {}};
         }},
        {"cold air in the cabinet", "drying",
         [](auto& s) {
             each(s, Step::DryCoat, [](auto& x) {
                 if (x.air) x.air->temperature = model::Celsius{25};
             });
         }},
        {"longer typed drying", "time",
         [](auto& s) {
             s.room.steps[Step::DryMesh] = {Seconds{20}, minutes(200), {}};
         }},
        {"degreasing takes longer", "time", longer(Step::Degrease)},
        {"coating takes longer", "time",
         [](auto& s) {
             for (auto& p : s.room.coat_plans)
                 p.coat = minutes(30);
         }},
        {"washing out takes longer", "time", longer(Step::WashOut)},
        {"inspecting is quicker", "time",
         [](auto& s) {
             s.room.steps[Step::Inspect] = {Seconds{5}, Seconds{0}, {}};
         }},
        {"a hand-over at the sink", "time",
         [](auto& s) { each(s, Step::Degrease, [](auto& x) { x.walk = minutes(1); }); }},
        {"large frames take longer to degrease", "time",
         [](auto& s) {
             auto& but = s.room.steps[Step::Degrease].but;
             but = {{.frames_from = tiny(), .attended = minutes(30)}};
         }},
        {"at this stand coating takes longer", "time",
         [](auto& s) {
             each(s, Step::Coat, [&](auto& x) {
                 s.room.steps[Step::Coat].but.push_back({.at = {x.name}, .attended = minutes(30)});
             });
         }},
        {"somebody inspects slowly", "time",
         [](auto& s) {
             s.room.steps[Step::Inspect] = {minutes(4), Seconds{0}, {}};
             for (const auto& p : s.room.people)
                 s.room.steps[Step::Inspect].but.push_back(
                     {.by = {p.name}, .attended = minutes(45)});
         }},
        {"in this booth it soaks longer", "time",
         [](auto& s) {
             each(s, Step::WashOut, [&](auto& x) {
                 s.room.steps[Step::WashOut] = {minutes(4), Seconds{90}, {}};
                 s.room.steps[Step::WashOut].but = {{.at = {x.name}, .stand = minutes(200)}};
             });
         }},
        {"touch-up dries longer", "ready",
         [](auto& s) {
             s.room.steps[Step::DryTouchUp] = {Seconds{20}, minutes(90), {}};
         }},
        {"a face coat more", "way",
         [](auto& s) {
             for (auto& p : s.room.coat_plans)
                 ++p.face;
         }},
        {"fewer frames", "frames",
         [](auto& s) {
             for (auto& f : s.frames)
                 f.count = 1;
         }},
        {"frames come back late", "frames",
         [](auto& s) {
             for (auto& f : s.frames)
                 f.from = random_scenario::first_day() + minutes(6000);
         }},
        {"another due time", "orders", [](auto& s) { s.orders[0].due += minutes(10); }},
        {"an order more", "orders",
         [](auto& s) {
             s.orders.push_back(s.orders[0]);
             s.orders.back().name = "A0";
         }},
        {"a screen more", "orders", [](auto& s) { ++s.orders[0].lines[0].count; }},
        {"another mesh", "screens", [](auto& s) { s.orders[0].lines[0].mesh = "of another room"; }},
        {"another room", "room", [](auto& s) { s.room.name += " 2"; }},
        {"a place fewer", "room", [](auto& s) { ++s.room.stations[0].places; }},
    };
    return list;
}

}  // namespace

TEST_CASE("each rule of the room is broken by the plan of another room", "[room-judge]") {
    const auto own = sched::check::room::judge_room(plan(), demo());
    for (const OtherRoom& x : other_rooms()) {
        INFO(x.name);
        Scenario s = demo();
        x.change(s);
        REQUIRE(s != demo());
        const auto found = sched::check::room::judge_room(plan(), s);
        CHECK(count(found, x.rule) > count(own, x.rule));
    }
}

TEST_CASE("files that have changed since the plan was made are named", "[room-judge]") {
    auto document = plan();
    document.inputs = {{.name = "room.yaml", .sha256 = std::string(64, 'a'), .bytes = 1},
                       {.name = "orders.csv", .sha256 = std::string(64, 'b'), .bytes = 1}};
    auto now = document.inputs;
    CHECK(count(sched::check::room::judge_room(document, demo(), {now}), "digest") == 0);
    now[0].sha256[0] = 'c';
    CHECK(count(sched::check::room::judge_room(document, demo(), {now}), "digest") == 1);
    now.pop_back();
    CHECK(count(sched::check::room::judge_room(document, demo(), {now}), "digest") == 2);
}

// Common practice, no source: remover that dries in locks the stencil, and whoever put it on knows
// where it is and since when.
TEST_CASE("whoever puts the remover on rinses it off", "[room-judge]") {
    const auto findings = [](const sched::report::PlanDocument& d) {
        return sched::check::room::judge_room(d, demo(), {});
    };
    REQUIRE(count(findings(plan()), "hands") == 0);
    auto other = plan();
    const auto rinse = std::find_if(other.operations.begin(), other.operations.end(),
                                    [](const auto& o) { return o.step == "rinse"; });
    REQUIRE(rinse != other.operations.end());
    const std::string was = rinse->people.front();
    for (const auto& person : demo().room.people) {
        if (person.name != was) rinse->people = {person.name};
    }
    CHECK(count(findings(other), "hands") == 1);
}

TEST_CASE("frames said in inches are the frames of the files", "[room-judge]") {
    Scenario s = demo();
    for (auto& order : s.orders) {
        for (auto& line : order.lines)
            line.frame.in_inches = true;
    }
    for (auto& stock : s.frames)
        stock.size.in_inches = true;
    const auto made = planned::plan(s, random_scenario::first_day(), 12).plan;
    REQUIRE(made);
    for (const auto& screen : made->screens)
        CHECK(screen.frame.ends_with(" in"));
    for (const auto& stock : made->stock_after)
        CHECK(stock.frame.ends_with(" in"));
    CHECK(planned::verdict(*made, s) == std::vector<std::string>{});
    CHECK(planned::verdict(*made, demo()) == std::vector<std::string>{});
    // A frame that is another by the tenth of an inch is said.
    auto other = *made;
    other.screens[0].frame = "22.9346 x 33.0709 in";
    CHECK(planned::verdict(other, s) != std::vector<std::string>{});
}
