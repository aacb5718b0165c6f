#include <algorithm>

#include "model/room/steps.hpp"
#include "sched/compile/room_problem.hpp"
#include "tests/catch.hpp"

using namespace model;
using sched::compile::compile_room;
using sched::compile::CompileOptions;
using sched::compile::RoomProblem;

namespace {

SimTime at(const char* text) {
    return *parse_date_time(text);
}

// A room with one of each place, two people, typed drying minutes.
Scenario small_room() {
    Scenario s;
    s.room.name = "small";
    s.room.stations = {
        {.name = "sink",
         .does = {Step::InkOff, Step::Strip, Step::Haze, Step::Abrade, Step::Degrease}},
        {.name = "stand", .does = {Step::Coat}, .light_safe = true},
        {.name = "cabinet",
         .does = {Step::DryMesh, Step::DryCoat, Step::DryStencil},
         .places = 4,
         .light_safe = true,
         .double_from = Area{Centimetres{60}, Centimetres{90}}},
        {.name = "rack", .does = {Step::TakeOut}, .places = 10, .light_safe = true},
        {.name = "unit", .does = {Step::Expose}, .light_safe = true, .lamp = Lamp{}},
        {.name = "booth", .does = {Step::WashOut}, .light_safe = true},
        {.name = "table", .does = {Step::Inspect}},
    };
    Shift day{.weekdays = {true, true, true, true, true, false, false},
              .from = hours(6),
              .to = hours(14)};
    s.room.people = {
        {.name = "one", .shifts = {day}, .breaks = {{hours(9), hours(9), minutes(15)}}},
        {.name = "two", .shifts = {day}, .overtime = hours(1)},
    };
    s.room.emulsions = {
        {.name = "blue", .batch = Millilitres{1000}, .base_stencil = Micrometres{60}}};
    s.room.meshes = {{.name = "90-48"}};
    s.room.coat_plans = {{.name = "2+2"}};
    s.orders = {{.name = "B3",
                 .due = at("2026-11-26T12:00"),
                 .priority = 2,
                 .lines = {{.count = 2,
                            .mesh = "90-48",
                            .frame = {Centimetres{58}, Centimetres{84}},
                            .emulsion = "blue",
                            .coat_plan = "2+2"}}}};
    s.frames = {
        {.size = {Centimetres{84}, Centimetres{58}}, .mesh = "90-48", .state = FrameState::Inky},
        {.size = {Centimetres{58}, Centimetres{84}}, .mesh = "90-48", .state = FrameState::Ready}};
    return s;
}

std::optional<RoomProblem> compiled(const Scenario& s, Diagnostics& d) {
    return compile_room(s, {.start = at("2026-11-26T00:00")}, d);
}

}  // namespace

TEST_CASE("a scenario compiles into a sound problem", "[compile]") {
    Diagnostics d;
    const auto room = compiled(small_room(), d);
    REQUIRE(room);
    for (const auto& fault : sched::core::validate(room->problem))
        UNSCOPED_INFO(fault);
    CHECK(sched::core::validate(room->problem).empty());
    CHECK(room->operations.size() == room->problem.operations.size());
    CHECK(room->resources.size() == room->problem.resources.size());
    CHECK(room->screens.size() == 2);
    CHECK(room->screens[0].tag == "B3-1");
}

TEST_CASE("frames are taken ready before reclaimed, and shortages name what to order",
          "[compile]") {
    Diagnostics d;
    auto s = small_room();
    const auto room = compiled(s, d);
    REQUIRE(room);
    CHECK(room->screens[0].source == FrameState::Ready);
    CHECK(room->screens[1].source == FrameState::Inky);
    CHECK(room->reclaims.size() == 1);

    s.orders[0].place = {"orders.csv", 2, 1};
    s.orders[0].lines[0].count = 5;
    s.orders[0].lines[0].place = {"orders.csv", 2, 1};
    CHECK_FALSE(compiled(s, d));
    REQUIRE(d.all().size() == 1);
    CHECK(to_text(d.all()[0]) ==
          "orders.csv:2:1: error: order B3 needs 3 more frames of 58 x 84 cm with "
          "mesh "
          "90-48 than the store holds in any state. Order 3 frames of 58 x 84 cm with mesh 90-48, "
          "add those that stand elsewhere to frames.csv, or put the order on hold (hold: yes in "
          "orders.csv). (frames-run-out)");
    // Each is told what can be done about it: a mark is taken back, an enquiry has no file.
    s.orders.push_back(s.orders[0]);
    s.orders[0].lines[0].count = 1;
    s.orders[1].name = "B3-more1";
    Diagnostics marked;
    CHECK_FALSE(compiled(s, marked));
    REQUIRE(marked.all().size() == 1);
    CHECK(to_text(marked.all()[0]).find("or take the mark back (undo).") != std::string::npos);
    s.orders[1].place = {};
    Diagnostics asked;
    CHECK_FALSE(compiled(s, asked));
    REQUIRE(asked.all().size() == 1);
    CHECK(to_text(asked.all()[0]).find("or ask for fewer screens.") != std::string::npos);
    s.orders.pop_back();
    s.orders[0].lines[0].count = 3;  // one is missing
    Diagnostics one;
    CHECK_FALSE(compiled(s, one));
    REQUIRE(one.all().size() == 1);
    CHECK(to_text(one.all()[0]).find("needs 1 more frame of") != std::string::npos);
    CHECK(to_text(one.all()[0]).find("Order 1 frame of") != std::string::npos);
}

// Frames are reclaimed elsewhere: what is inky is none of this room's, and waits for nothing in it.
TEST_CASE("a room without a sink for reclaiming", "[compile]") {
    auto s = small_room();
    s.room.stations[0].does = {Step::Degrease};
    s.orders[0].lines[0].count = 1;
    Diagnostics d;
    const auto room = compile_room(s, {.start = at("2026-11-26T00:00"), .spare_ways = true}, d);
    REQUIRE(room);
    CHECK(d.all().empty());
    CHECK(with_returns(s, {.start = at("2026-11-26T00:00")}, *room, at("2026-11-26T14:00"))
              .returns.empty());
    // A screen found bad is made on another clean frame: on simulated days it is not good at once.
    REQUIRE(room->spare.size() == 2);
    CHECK(room->spare[0].again);
    CHECK(room->operations[static_cast<std::size_t>(room->spare[0].first)].step == Step::Degrease);

    s.orders[0].lines[0].count = 2;
    CHECK_FALSE(compiled(s, d));
    REQUIRE(d.all().size() == 1);
    CHECK(d.all()[0].code == "frames-run-out");
    CHECK(d.all()[0].message ==
          "order B3 needs 1 more frame of 58 x 84 cm with mesh 90-48 than the store holds in a "
          "state that this room can use: 1 is inky, and no station does \"ink off\" for it.");
}

TEST_CASE("coated frames past their shelf life are named, not left out without a word",
          "[compile]") {
    auto s = small_room();
    s.orders[0].lines[0].count = 2;
    s.frames.push_back({.size = s.orders[0].lines[0].frame,
                        .mesh = *s.orders[0].lines[0].mesh,
                        .state = FrameState::Coated,
                        .count = 3,
                        .coated_dry = at("2026-10-01T09:00"),
                        .emulsion = s.orders[0].lines[0].emulsion,
                        .coat_plan = s.orders[0].lines[0].coat_plan,
                        .place = {"frames.csv", 4, 1}});
    Diagnostics d;
    const auto room = compiled(s, d);
    REQUIRE(room);
    REQUIRE(d.all().size() == 1);
    // Four weeks (limits: coated shelf life) from the first of October.
    CHECK(to_text(d.all()[0]) ==
          "frames.csv:4:1: warning: 3 frames of 58 x 84 cm with mesh 90-48 are not used: the coats "
          "keep until 2026-10-29T09:00. Clean what is too old and write its new state, or change "
          "coated shelf life (limits in room.yaml). (coat-too-old)");
    CHECK(room->screens[0].source != FrameState::Coated);
    // Young enough: used, and nothing to say.
    s.frames.back().coated_dry = at("2026-11-20T09:00");
    Diagnostics young;
    const auto used = compiled(s, young);
    REQUIRE(used);
    CHECK(young.all().empty());
    CHECK(used->screens[0].source == FrameState::Coated);
    // Where frames run out it is said why these three do not count.
    s.orders[0].lines[0].count = 5;
    s.frames.back().coated_dry = at("2026-10-01T09:00");
    Diagnostics lacking;
    CHECK_FALSE(compiled(s, lacking));
    REQUIRE(!lacking.all().empty());
    CHECK(lacking.all()[0].message.ends_with(
        "needs 3 more frames of 58 x 84 cm with mesh 90-48 than the store holds in a state that "
        "this room can use: 3 are coated, for no longer than 2026-10-29T09:00."));
    s.frames.back().emulsion = "another";
    Diagnostics other;
    CHECK_FALSE(compiled(s, other));
    REQUIRE(!other.all().empty());
    CHECK(other.all()[0].message.find("3 are coated, with another (") != std::string::npos);
}

// A lamp that is still cold holds back no exposure at another unit.
TEST_CASE("a unit that is closed in the morning holds nobody back", "[compile]") {
    auto s = small_room();
    Station& unit = *std::find_if(s.room.stations.begin(), s.room.stations.end(),
                                  [](const Station& x) { return x.name == "unit"; });
    Station other = unit;
    unit.lamp->warm_up = minutes(5);
    other.name = "other unit";
    s.room.stations.push_back(other);
    const auto ways = [&](Diagnostics& d) {
        const auto room = compiled(s, d);
        REQUIRE(room);
        std::size_t most = 0, warm = 0;
        for (std::size_t i = 0; i < room->operations.size(); ++i) {
            if (room->operations[i].step != Step::Expose) continue;
            warm += room->operations[i].screen < 0 ? 1U : 0U;
            most = std::max(most, room->problem.operations[i].modes.size());
        }
        return std::pair(most, warm);
    };
    Diagnostics open;
    CHECK(ways(open) == std::pair<std::size_t, std::size_t>(2, 1));
    CHECK(open.all().empty());
    // People come at six, nothing is dry before seven: warm at seven will do.
    Station& late = *std::find_if(s.room.stations.begin(), s.room.stations.end(),
                                  [](const Station& x) { return x.name == "unit"; });
    late.closed = {{at("2026-11-26T00:00"), at("2026-11-26T06:55")}};
    Diagnostics soon;
    CHECK(ways(soon).first == 2);
    late.closed = {{at("2026-11-26T00:00"), at("2026-11-26T12:00")}};
    Diagnostics closed;
    CHECK(ways(closed) == std::pair<std::size_t, std::size_t>(1, 0));
    REQUIRE(closed.all().size() == 1);
    CHECK(
        closed.all()[0].message ==
        "unit is warm only at 2026-11-26T12:05: what another unit can expose does not wait for it, "
        "in all of the run.");
    // Without a warming up it helps from noon on.
    late.lamp->warm_up = Seconds{0};
    Diagnostics cold;
    CHECK(ways(cold).first == 2);
    CHECK(cold.all().empty());
}

TEST_CASE("a frame that comes back too late is left to those that have time", "[compile]") {
    Diagnostics d;
    auto s = small_room();
    s.frames[1].state = FrameState::OldStencil;  // less work than the inky one, but back at eleven
    s.frames[1].from = at("2026-11-26T11:00");
    s.orders[0].lines[0].count = 1;
    auto room = compiled(s, d);
    REQUIRE(room);
    CHECK(room->screens[0].source == FrameState::Inky);
    s.orders[0].due = at("2026-11-27T12:00");
    room = compiled(s, d);
    REQUIRE(room);
    CHECK(room->screens[0].source == FrameState::OldStencil);
    // Where it is the only one left it is taken all the same, and the order will be late.
    s.orders[0].due = at("2026-11-26T12:00");
    s.frames.erase(s.frames.begin());
    room = compiled(s, d);
    REQUIRE(room);
    CHECK(room->screens[0].source == FrameState::OldStencil);
}

TEST_CASE("shifts, breaks and overtime become calendars", "[compile]") {
    Diagnostics d;
    const auto room = compiled(small_room(), d);
    REQUIRE(room);
    const auto& one = room->problem.resources[7];
    REQUIRE(one.calendar);
    // Thursday to Saturday: two working days, each cut by the break at nine.
    REQUIRE(one.calendar->size() == 4);
    CHECK((*one.calendar)[0].from == at("2026-11-26T06:00"));
    CHECK((*one.calendar)[0].to == at("2026-11-26T09:00"));
    CHECK((*one.calendar)[1].from == at("2026-11-26T09:15"));
    CHECK((*one.calendar)[1].to == at("2026-11-26T14:00"));
    const auto& two = room->problem.resources[8];
    CHECK((*two.calendar)[0].to == at("2026-11-26T15:00"));
    REQUIRE(room->problem.overtime.size() == 2);
    CHECK(room->problem.overtime[0].window.from == at("2026-11-26T14:00"));
    // Who goes home at ten and comes again at noon stays longer in the evening, not in between.
    auto s = small_room();
    s.room.people[1].shifts = {s.room.people[1].shifts[0], s.room.people[1].shifts[0]};
    s.room.people[1].shifts[0].to = hours(10);
    s.room.people[1].shifts[1].from = hours(12);
    const auto twice = compiled(s, d);
    REQUIRE(twice);
    const auto& parts = twice->problem.resources[8];
    CHECK((*parts.calendar)[0].to == at("2026-11-26T10:00"));
    CHECK((*parts.calendar)[1].to == at("2026-11-26T15:00"));
    REQUIRE(twice->problem.overtime.size() == 2);
    CHECK(twice->problem.overtime[0].window.from == at("2026-11-26T14:00"));
}

TEST_CASE("what no pot holds is mixed, 75 minutes and the work before the first coat",
          "[compile]") {
    Diagnostics d;
    auto s = small_room();
    auto room = compiled(s, d);
    REQUIRE(room);
    REQUIRE(room->mixes.size() == 1);
    CHECK(room->mixes[0].to_buy);
    s.room.pots = {{.name = "pot 1", .emulsion = "blue", .volume = Millilitres{2000}}};
    room = compiled(s, d);
    REQUIRE(room);
    CHECK(room->mixes.empty());
    s.room.emulsions[0].pot_life_room = hours(24 * 28);  // four weeks: common practice, no source
    s.room.pots[0].mixed = at("2026-10-01T08:00");
    room = compiled(s, d);
    REQUIRE(room);
    CHECK(room->mixes.size() == 1);
    REQUIRE(d.all().size() == 1);
    CHECK(d.all()[0].code == "pot-expired");
}

TEST_CASE("a pot that ends during the run is used until then, and another is mixed for the rest",
          "[compile]") {
    Diagnostics d;
    auto s = small_room();
    s.room.pots = {{.name = "pot 1", .emulsion = "blue", .volume = Millilitres{2000}}};
    s.room.emulsions[0].pot_life_room = hours(24 * 28);  // four weeks: common practice, no source
    s.room.pots[0].mixed = at("2026-10-29T11:00");       // + 28 days: 26 November, 11:00
    auto room = compiled(s, d);
    REQUIRE(room);
    CHECK(room->mixes.size() == 1);
    REQUIRE(room->problem.stores.size() == 2);
    CHECK(room->problem.stores[0].until == at("2026-11-26T11:00"));
    CHECK_FALSE(room->problem.stores[1].until);
    REQUIRE(d.all().size() == 1);
    CHECK(d.all()[0].code == "pot-ends");
    CHECK(d.all()[0].severity == Severity::Warning);
    // One that outlives the last due day is enough; unless the run may last longer.
    s.room.pots[0].mixed = at("2026-10-31T00:00");
    Diagnostics none;
    room = compiled(s, none);
    REQUIRE(room);
    CHECK(room->mixes.empty());
    CHECK(none.all().empty());
    room = compile_room(s, {.start = at("2026-11-26T00:00"), .late_coats = true}, none);
    REQUIRE(room);
    CHECK(room->mixes.size() == 1);
    // Due when the run ends, from a pot that ends nine hours later: in the days in which what is
    // late still ends it makes no other run.
    s.orders[0].due = at("2026-11-29T00:00");
    s.room.pots[0].mixed = at("2026-11-01T09:00");
    for (const bool late_coats : {false, true}) {
        CompileOptions how{.start = at("2026-11-26T00:00"), .late_coats = late_coats};
        const auto run = compile_room(s, how, none);
        how.spare_days = 5;
        room = compile_room(s, how, none);
        REQUIRE(run);
        REQUIRE(room);
        CHECK(room->problem.horizon_end == run->problem.horizon_end + hours(24 * 5));
        CHECK(run->mixes.empty());
        CHECK(room->mixes.empty());
    }
}

TEST_CASE("the vacuum is drawn before every exposure, and the dose knows nothing of it",
          "[compile]") {
    Diagnostics d;
    auto s = small_room();
    const auto plain = compiled(s, d);
    s.room.stations[4].lamp->draw_down = minutes(2);
    const auto drawn = compiled(s, d);
    REQUIRE(plain);
    REQUIRE(drawn);
    int longer = 0;
    for (std::size_t i = 0; i < plain->operations.size(); ++i) {
        const auto before = plain->problem.operations[i].modes.front().work;
        const auto after = drawn->problem.operations[i].modes.front().work;
        if (before == after) continue;
        CHECK(plain->operations[i].step == Step::Expose);
        CHECK(after == before + minutes(2));
        // Nobody stands beside it.
        CHECK(drawn->problem.operations[i].modes.front().needs.size() == 1);
        ++longer;
    }
    CHECK(longer == 2);  // one exposure a screen
    REQUIRE(plain->screens[0].exposures.size() == 1);
    CHECK(plain->screens[0].exposures[0].count() > 0);
    CHECK(plain->screens[0].exposures == drawn->screens[0].exposures);
}

TEST_CASE("a rack for ready screens takes no wet one", "[compile][rule]") {
    Diagnostics d;
    const auto room = compiled(small_room(), d);
    REQUIRE(room);
    int carried = 0;
    for (std::size_t i = 0; i < room->operations.size(); ++i) {
        for (const auto& mode : room->problem.operations[i].modes) {
            for (const auto& need : mode.needs) {
                for (const auto r : need.any_of) {
                    if (room->problem.resources[r.index()].name != "rack") continue;
                    CHECK(room->operations[i].step == Step::TakeOut);  // it is dry
                    ++carried;
                }
            }
        }
    }
    CHECK(carried == 6);  // mesh, coat and stencil of two screens
    // Ten places: the checker refuses the eleventh screen like any other capacity.
    CHECK(room->problem.resources[3].capacity == 10);
}

TEST_CASE("a frame above the size takes two slots and two people", "[compile]") {
    Diagnostics d;
    auto s = small_room();
    s.room.limits.two_people_from = Area{Centimetres{60}, Centimetres{90}};
    s.orders[0].lines[0].frame = {Centimetres{80}, Centimetres{110}};
    s.frames[0].size = s.frames[1].size = {Centimetres{80}, Centimetres{110}};
    const auto room = compiled(s, d);
    REQUIRE(room);
    for (std::size_t i = 0; i < room->operations.size(); ++i) {
        const auto& mode = room->problem.operations[i].modes[0];
        if (room->operations[i].step == Step::DryCoat) CHECK(mode.needs[0].amount == 2);
        // Two lift it: hang it up, take it out, load it. At the stand one coats it.
        if (room->operations[i].step == Step::Coat) CHECK(mode.needs.size() == 2);
        if (room->operations[i].step == Step::TakeOut || hangs_up(room->operations[i])) {
            CHECK(
                std::count_if(mode.needs.begin(), mode.needs.end(), [](const sched::core::Need& n) {
                    return n.span == sched::core::Span::Work;
                }) == 2);
        }
    }
    // One who has learnt to expose lays it on the unit, with anybody.
    auto coats = s;
    coats.room.people[1].can = {Step::Coat};
    const auto lifted = compiled(coats, d);
    REQUIRE(lifted);
    const auto load = std::find_if(
        lifted->operations.begin(), lifted->operations.end(),
        [](const auto& o) { return o.step == Step::Expose && o.part == model::route::Part::Load; });
    const auto& needs =
        lifted->problem.operations[static_cast<std::size_t>(load - lifted->operations.begin())]
            .modes[0]
            .needs;
    REQUIRE(needs.size() == 3);
    CHECK(needs[1].any_of.size() == 1);
    CHECK(needs[2].any_of.size() == 2);
    s.room.limits.two_people_for.clear();  // everything
    const auto all = compiled(s, d);
    REQUIRE(all);
    for (std::size_t i = 0; i < all->operations.size(); ++i) {
        if (all->operations[i].step == Step::Coat)
            CHECK(all->problem.operations[i].modes[0].needs.size() == 3);
    }
}

TEST_CASE("breaks beside each other are all had, wherever the run begins", "[compile][breaks]") {
    Scenario s = small_room();
    s.room.people[0].breaks = {
        {.earliest = minutes(510), .latest = minutes(570), .length = minutes(30)},
        {.earliest = hours(9), .latest = hours(9), .length = minutes(15)},
        {.earliest = minutes(555), .latest = minutes(555), .length = minutes(15)}};
    for (const char* start : {"2026-11-26T00:00", "2026-11-26T08:45", "2026-11-26T09:10"}) {
        Diagnostics d;
        const auto room = compile_room(s, {.start = at(start)}, d);
        REQUIRE(room);
        const auto& p = room->problem;
        Seconds off{0};  // breaks of Thursday that are still to come
        for (const auto& x : p.pauses) {
            CHECK(x.earliest >= p.horizon_start);
            CHECK(x.at >= x.earliest);
            CHECK(x.at <= x.latest);
            if (x.at < at("2026-11-27T00:00")) off += x.length;
        }
        CAPTURE(start);
        // 30 min at 08:30 by the stagger of the first of two; at 09:10 one break is under way.
        const Seconds wanted = at(start) == at("2026-11-26T09:10")   ? minutes(15)
                               : at(start) == at("2026-11-26T08:45") ? minutes(30)
                                                                     : minutes(60);
        CHECK(off == wanted);
    }
}

TEST_CASE("overdue orders and due dates far off are warned of", "[compile]") {
    Scenario s = small_room();
    Diagnostics d;
    REQUIRE(compile_room(s, {.start = at("2026-11-27T00:00")}, d));
    REQUIRE(d.all().size() == 1);
    CHECK(d.all()[0].code == "order-overdue");
    // Where nothing is due later another day was meant: one sentence, with that day.
    s.orders.push_back(s.orders[0]);
    s.orders[1].name += "x";
    s.orders[1].due += std::chrono::hours{1};
    Diagnostics all;
    compile_room(s, {.start = at("2026-11-27T00:00")}, all);
    const auto said = [&](const std::string& code) {
        return std::count_if(all.all().begin(), all.all().end(),
                             [&](const auto& x) { return x.code == code; });
    };
    CHECK(said("all-overdue") == 1);
    CHECK(said("order-overdue") == 0);
    CHECK(all.all()[0].hint.find("--date 2026-11-26") != std::string::npos);
    s.orders.pop_back();
    s.orders[0].due = at("2027-02-01T12:00");
    Diagnostics far;
    REQUIRE(compile_room(s, {.start = at("2026-11-27T00:00")}, far));
    REQUIRE(far.all().size() == 1);
    CHECK(far.all()[0].code == "due-far-off");
    CHECK(far.all()[0].message.find("66 days") != std::string::npos);
}

TEST_CASE("a day on which nobody works is warned of", "[compile]") {
    // 28 November 2026 is a Saturday (`cal 11 2026`); the shifts are Monday to Friday from 6:00.
    Scenario s = small_room();
    s.orders[0].due = at("2026-11-30T12:00");
    Diagnostics saturday;
    REQUIRE(compile_room(s, {.start = at("2026-11-28T00:00")}, saturday));
    REQUIRE(saturday.all().size() == 1);
    CHECK(saturday.all()[0].code == "nobody-that-day");
    CHECK(saturday.all()[0].message ==
          "nobody works on 2026-11-28: the run begins 2026-11-30T06:00.");
    Diagnostics friday;
    REQUIRE(compile_room(s, {.start = at("2026-11-27T00:00")}, friday));
    CHECK(friday.all().empty());
    // In the evening of a day on which they have worked.
    Diagnostics evening;
    REQUIRE(compile_room(s, {.start = at("2026-11-27T18:00")}, evening));
    CHECK(evening.all().empty());
}

TEST_CASE("a pot that is mixed on another day is warned of", "[compile]") {
    Scenario s = small_room();
    s.room.pots = {{.name = "old",
                    .emulsion = "blue",
                    .volume = Millilitres{5000},
                    .mixed = at("2026-11-29T08:00")}};
    Diagnostics later;
    REQUIRE(compiled(s, later));
    REQUIRE(later.all().size() == 1);
    CHECK(later.all()[0].code == "pot-mixed-later");
    s.room.pots[0].mixed = at("2026-11-26T05:00");
    Diagnostics today;
    REQUIRE(compiled(s, today));
    CHECK(today.all().empty());
}

TEST_CASE("where nobody mixes, what is mixed must do, and remakes take what comes mixed",
          "[compile]") {
    Scenario s = small_room();
    s.room.emulsions[0].place = {"room.yaml", 19, 5};
    for (auto& person : s.room.people) {
        for (const auto& row : step_rows()) {
            if (row.step != Step::MixDissolve && row.step != Step::MixStir)
                person.can.push_back(row.step);
        }
    }
    s.room.pots = {{.name = "old",
                    .emulsion = "blue",
                    .volume = Millilitres{50},
                    .mixed = at("2026-11-25T08:00")}};
    Diagnostics none;
    CHECK_FALSE(compiled(s, none));
    REQUIRE(none.all().size() == 1);
    CHECK(none.all()[0].code == "nobody-mixes");
    CHECK(none.all()[0].message.find("nobody can \"mix\" more") != std::string::npos);
    s.room.pots[0].volume = Millilitres{5000};
    Diagnostics d;
    const auto room = compile_room(s, {.start = at("2026-11-26T00:00"), .spare_ways = true}, d);
    CHECK(d.all().empty());
    REQUIRE(room);
    REQUIRE(room->spare_emulsions.size() == 1);
    REQUIRE(!room->spare_emulsions[0].mixes.empty());
    for (const auto& mix : room->spare_emulsions[0].mixes)
        CHECK(mix.count == 0);
}

TEST_CASE("a mesh left open is one that stands in the store, and is explained", "[compile]") {
    Scenario s = small_room();
    // Both hold a finest line of 100 µm; the coarser one is not there for both screens.
    s.room.meshes = {{.name = "77-48", .count = ThreadsPerCm{77}, .thread = Micrometres{48}},
                     {.name = "90-48", .count = ThreadsPerCm{90}, .thread = Micrometres{48}}};
    s.orders[0].lines[0].mesh.reset();
    s.orders[0].lines[0].finest_line = Micrometres{100};
    s.frames.push_back({.size = s.frames[0].size, .mesh = "77-48"});
    Diagnostics d;
    auto room = compiled(s, d);
    REQUIRE(room);
    REQUIRE(room->mesh_choices.size() == 1);
    CHECK(room->mesh_choices[0].mesh == "90-48");
    CHECK(room->mesh_choices[0].words ==
          "90-48: a finest line of 100 µm takes threads of 50 µm at most; of 77-48, which would "
          "do, 1 of 2 are missing in the store.");
    CHECK(room->screens[0].mesh == "90-48");
    s.frames.back().count = 2;
    Diagnostics more;
    room = compiled(s, more);
    REQUIRE(room);
    CHECK(room->mesh_choices[0].words ==
          "77-48: a finest line of 100 µm takes threads of 50 µm at most; it is the coarsest that "
          "keeps this.");
}

TEST_CASE("inky frames that stand there are reclaimed in idle time, old stencils wait",
          "[compile]") {
    Scenario s = small_room();
    s.frames.push_back(
        {.size = s.frames[0].size, .mesh = "90-48", .state = FrameState::Inky, .count = 2});
    s.frames.push_back(
        {.size = s.frames[0].size, .mesh = "90-48", .state = FrameState::OldStencil});
    Diagnostics d;
    const CompileOptions options{.start = at("2026-11-26T00:00")};
    auto room = compile_room(s, options, d);
    REQUIRE(room);
    room = with_returns(s, options, *std::move(room), at("2026-11-26T16:00"));
    // Three of five frames are left: an old stencil was less work than the inky one.
    REQUIRE(room->returns.size() == 3);
    for (const auto& x : room->returns) {
        CHECK(s.frames[static_cast<std::size_t>(x.stock)].state == FrameState::Inky);
        CHECK(x.from == options.start);
        CHECK(x.parts.size() == 2);
        CHECK(x.becomes == FrameState::Ready);
    }
}

// Nights in which clocks change: 28 March 2027 and 31 October 2027 by directive 2000/84/EC, 14
// March and 7 November 2027 by 15 U.S.C. 260a.
TEST_CASE("whoever works while clocks change is named", "[compile]") {
    const auto said = [](const std::string& day, bool nights) {
        Scenario s = small_room();
        for (auto& person : s.room.people) {
            for (auto& shift : person.shifts) {
                shift.weekdays.fill(true);
                if (!nights) continue;
                shift.from = hours(22);
                shift.to = hours(30);
            }
        }
        for (auto& order : s.orders)
            order.due = at((day + "T05:00").c_str());
        Diagnostics d;
        CompileOptions nights_before;
        nights_before.start = at((day + "T00:00").c_str()) - hours(24);
        compile_room(s, nights_before, d);
        std::string words;
        for (const auto& x : d.all())
            words += x.code == "clock-change" ? to_text(x) : "";
        return words;
    };
    for (const char* day : {"2027-03-28", "2027-03-14"}) {
        CHECK(said(day, true).find("an hour that there is not") != std::string::npos);
        CHECK(said(day, false).empty());
    }
    for (const char* day : {"2027-10-31", "2027-11-07"})
        CHECK(said(day, true).find("the hour that comes twice") != std::string::npos);
    for (const char* day : {"2027-03-21", "2027-10-24", "2027-11-14", "2027-06-27"})
        CHECK(said(day, true).empty());
}

TEST_CASE("an exposure far from every calibrated one is warned of", "[compile]") {
    Scenario s = small_room();
    Diagnostics usual;
    REQUIRE(compiled(s, usual));
    CHECK(usual.all().empty());
    s.room.emulsions[0].base_stencil = Micrometres{10};  // a slip: six times the time
    Diagnostics d;
    REQUIRE(compiled(s, d));
    REQUIRE(d.all().size() == 1);
    CHECK(d.all()[0].code == "exposure-unlikely");
    // A second order made alike is not warned of again.
    s.orders.push_back(s.orders.front());
    s.orders.back().name = "alike";
    for (auto& frames : s.frames)
        frames.count *= 2;
    Diagnostics alike;
    REQUIRE(compiled(s, alike));
    CHECK(alike.all().size() == 1);
    s = small_room();
    // Not of a unit on whose blanket the frame of 58 x 84 cm does not lie: nothing is exposed
    // there.
    for (auto& station : s.room.stations) {
        if (station.lamp) station.blanket = Area{Centimetres{84}, Centimetres{58}};
    }
    s.room.stations.push_back({.name = "small unit",
                               .does = {Step::Expose},
                               .light_safe = true,
                               .lamp = Lamp{.distance = Centimetres{400}},
                               .blanket = Area{Centimetres{60}, Centimetres{80}}});
    s.room.emulsions[0].base_stencil = small_room().room.emulsions[0].base_stencil;
    Diagnostics small;
    REQUIRE(compiled(s, small));
    CHECK(small.all().empty());
    s.room.stations.back().blanket = Area{Centimetres{60}, Centimetres{84}};
    Diagnostics fits;
    REQUIRE(compiled(s, fits));
    REQUIRE(fits.all().size() == 1);
    CHECK(to_text(fits.all()[0]).find("at small unit comes out at") != std::string::npos);
}
