// Rules that no plan of the demo room touches, on plans that are written down here step by step:
// what comes back from the press, what is taken out coated, when a break counts, who is there.

#include <algorithm>

#include "tests/catch.hpp"
#include "tests/room_judge/hand_made.hpp"

using namespace sched;
using namespace hand_made;

namespace {

// ---- frames that come back ---------------------------------------------------------------------

struct Returned {
    Scenario room = demo_room();
    PlanDocument plan = empty_plan();

    Returned(const char* state, const char* becomes, const std::vector<Done>& steps) {
        room.frames = {{.size = usual, .mesh = "77-55", .state = FrameState::Inky, .count = 1}};
        plan.returns = {{.tag = "R1",
                         .frame = "58 x 84 cm",
                         .mesh = "77-55",
                         .state = state,
                         .back = at(10, 30),
                         .becomes = becomes}};
        add(plan, "R1", steps);
    }
    int saying(const std::string& words) const { return hand_made::saying(plan, room, words); }
};

const std::vector<Done> ink = {
    {.step = "ink-off", .from = at(10, 30), .to = at(10, 34)},
    {.step = "ink-degrease", .from = at(10, 34), .to = at(10, 37)},
};
const std::vector<Done> rest = {
    {.step = "strip", .from = at(10, 40), .to = at(10, 42)},
    {.step = "rinse", .from = at(10, 42), .to = at(10, 46)},
    {.step = "dry-mesh", .from = at(10, 46), .to = at(11, 6)},
};
const std::vector<Done> rest_with_haze = {
    {.step = "strip", .from = at(10, 40), .to = at(10, 42)},
    {.step = "rinse", .from = at(10, 42), .to = at(10, 46)},
    {.step = "haze", .from = at(10, 46), .to = at(10, 55)},
    {.step = "degrease", .from = at(10, 55), .to = at(11, 0)},
    {.step = "dry-mesh", .from = at(11, 0), .to = at(11, 20)},
};

std::vector<Done> joined(std::vector<Done> a, const std::vector<Done>& b) {
    a.insert(a.end(), b.begin(), b.end());
    return a;
}

}  // namespace

// docs/input.md: the ink comes off first, then the rest, each part whole; for the store a frame is
// not degreased.
TEST_CASE("a returned frame goes its way in whole parts, and becomes what that makes of it",
          "[found]") {
    const auto goes = [](const Returned& x) { return x.saying("(returned) goes"); };
    const auto becomes = [](const Returned& x) { return x.saying("when its steps are done"); };
    for (const auto& right :
         {Returned("inky", "inky", {}), Returned("inky", "old-stencil", ink),
          Returned("inky", "ready", joined(ink, rest)),
          Returned("inky", "ready", joined(ink, rest_with_haze)),
          Returned("old-stencil", "old-stencil", {}), Returned("old-stencil", "ready", rest),
          Returned("old-stencil", "ready", rest_with_haze)}) {
        CHECK(goes(right) == 0);
        CHECK(becomes(right) == 0);
    }
    // Half of a part, a part before the other one, a part that it does not need.
    CHECK(goes(Returned("inky", "old-stencil", {ink[0]})) == 1);
    CHECK(goes(Returned("inky", "ready", rest)) == 1);
    CHECK(goes(Returned("inky", "ready", joined(ink, {rest[0], rest[2]}))) == 1);
    CHECK(goes(Returned("old-stencil", "ready", joined(ink, rest))) == 1);
    auto degreased = rest_with_haze;
    degreased.erase(degreased.begin() + 2);
    CHECK(goes(Returned("old-stencil", "ready", degreased)) == 1);
    // What it becomes.
    CHECK(becomes(Returned("inky", "ready", ink)) == 1);
    CHECK(becomes(Returned("inky", "old-stencil", joined(ink, rest))) == 1);
    CHECK(becomes(Returned("inky", "old-stencil", {})) == 1);
    CHECK(becomes(Returned("old-stencil", "inky", rest)) == 1);
}

TEST_CASE("a returned frame is worked on from the moment it is back", "[found]") {
    Returned x("inky", "old-stencil", ink);
    CHECK(x.saying("worked on before it is back") == 0);
    x.plan.returns[0].back += Seconds{1};
    CHECK(x.saying("worked on before it is back") == 1);
    x.plan.operations.clear();
    CHECK(x.saying("worked on before it is back") == 0);
}

// ---- coated screens ----------------------------------------------------------------------------

namespace {

// One screen on a ready frame, dry at 10:00, taken out, exposed.
PlanDocument exposed_screen(const std::vector<Done>& steps) {
    PlanDocument d = empty_plan();
    d.screens = {{.tag = "S1",
                  .order = "S",
                  .number = 1,
                  .mesh = "77-55",
                  .frame = "58 x 84 cm",
                  .emulsion = "dual-cure A",
                  .coat_plan = "2+2",
                  .made_on = "ready"}};
    add(d, "S1", steps);
    return d;
}

const std::vector<Done>& dried_and_exposed() {
    static const std::vector<Done> steps = {
        {.step = "dry-coat", .from = at(9, 0), .to = at(10, 0), .place = "cabinet"},
        {.step = "take-out", .from = at(10, 0), .to = at(10, 1), .place = "rack"},
        {.step = "expose",
         .from = at(10, 1),
         .to = at(10, 3),
         .place = "exposure unit",
         .people = {"Ada"},
         .batch = 1},
        {.step = "expose",
         .from = at(10, 3),
         .to = at(10, 5),
         .place = "exposure unit",
         .batch = 2},
    };
    return steps;
}

}  // namespace

// Common practice, no source: what is coated stays out of the light, so somebody has it in hand.
TEST_CASE("a screen that is taken out coated goes on at once", "[found]") {
    const Scenario s = demo_room();
    auto d = exposed_screen(dried_and_exposed());
    CHECK(saying(d, s, "with its coat on") == 0);
    d.operations[1].end -= Seconds{1};
    CHECK(saying(d, s, "with its coat on") == 1);
    // Carried to inspection it is not coated any more.
    d = exposed_screen({{.step = "dry-stencil", .from = at(9, 0), .to = at(10, 0)},
                        {.step = "take-out", .from = at(10, 0), .to = at(10, 1)},
                        {.step = "inspect", .from = at(10, 9), .to = at(10, 13)}});
    CHECK(saying(d, s, "with its coat on") == 0);
    // Between coats it is.
    d = exposed_screen({{.step = "dry-coat", .from = at(9, 0), .to = at(10, 0)},
                        {.step = "take-out", .from = at(10, 0), .to = at(10, 1)},
                        {.step = "face-coat", .from = at(10, 1, 1), .to = at(10, 3)}});
    CHECK(saying(d, s, "with its coat on") == 1);
}

// docs/input.md: from a coat that has stood its time to drying; what a coat stands longest in the
// room is added. 9:04 to 9:24 are 20 min.
TEST_CASE("a wet coat does not wait longer than it may", "[found]") {
    Scenario s = demo_room();
    s.room.steps[model::Step::Coat].stand = Seconds{0};
    s.room.steps[model::Step::Coat].stand_said = true;
    for (auto& plan : s.room.coat_plans)
        plan.coat_stand.reset();
    const auto d = exposed_screen(
        {{.step = "coat", .from = at(9, 0), .to = at(9, 4), .place = "coating stand"},
         {.step = "dry-coat",
          .from = at(9, 23),
          .to = at(9, 24),
          .place = "cabinet",
          .people = {"Ada"}},
         {.step = "dry-coat", .from = at(9, 24), .to = at(10, 0), .place = "cabinet"}});
    const auto late = [&](Seconds limit, Seconds stands) {
        s.room.limits.coat_to_dry = limit;
        s.room.coat_plans.front().coat_stand = stands;
        return saying(d, s, "drying begins");
    };
    CHECK(late(minutes(20), Seconds{0}) == 0);
    CHECK(late(minutes(20) - Seconds{1}, Seconds{0}) == 1);
    CHECK(late(minutes(15), minutes(5)) == 0);
    CHECK(late(minutes(15), minutes(5) - Seconds{1}) == 1);
}

// docs/input.md: the shelf life ends when the lamp is on; before, the screen is loaded (people are
// there), waits in the unit as long as room.yaml says, and the vacuum is drawn.
TEST_CASE("a dry coat keeps until the lamp is on", "[found]") {
    Scenario s = demo_room();
    const auto d = exposed_screen(dried_and_exposed());
    const auto late = [&](Seconds shelf) {
        s.room.limits.coated_shelf = shelf;
        return saying(d, s, "exposed 3") + saying(d, s, "exposed 4") + saying(d, s, "exposed 5");
    };
    CHECK(late(minutes(3)) == 0);
    CHECK(late(minutes(3) - Seconds{1}) == 1);
    for (auto& x : s.room.stations) {
        if (x.lamp) x.lamp->draw_down = Seconds{70};
    }
    CHECK(late(minutes(4) + Seconds{10}) == 0);
    CHECK(late(minutes(4) + Seconds{9}) == 1);
    s.room.steps[model::Step::Expose].stand = Seconds{60};
    CHECK(late(minutes(5) + Seconds{10}) == 0);
    CHECK(late(minutes(5) + Seconds{9}) == 1);
}

// ---- breaks ------------------------------------------------------------------------------------

namespace {

// Pa is there from 6:00 to 14:00 and owed the breaks that are said.
struct OnePerson {
    Scenario room = demo_room();
    PlanDocument plan = empty_plan();

    explicit OnePerson(std::vector<model::Break> owed) {
        model::Shift shift{.from = model::hours(6), .to = model::hours(14)};
        shift.weekdays.fill(true);
        room.room.people = {{.name = "Pa", .shifts = {shift}, .breaks = std::move(owed)}};
    }
    /// Breaks of the plan, by minute of the day. @returns whether one is said to be missing.
    bool missing(const std::vector<std::pair<int, int>>& had) {
        plan.breaks.clear();
        for (const auto& [from, to] : had)
            plan.breaks.push_back({.person = "Pa", .from = at(0, from), .to = at(0, to)});
        return saying(plan, room, "does not get a break") > 0;
    }
};

model::Break owed(int earliest, int latest, int length) {
    return {minutes(earliest), minutes(latest), minutes(length)};
}

}  // namespace

TEST_CASE("a break counts within its time and with its length", "[found]") {
    OnePerson pa({owed(540, 600, 15)});  // 15 min, begun between 9:00 and 10:00
    CHECK_FALSE(pa.missing({{540, 555}}));
    CHECK_FALSE(pa.missing({{600, 615}}));
    CHECK(pa.missing({}));
    CHECK(pa.missing({{601, 616}}));
    CHECK(pa.missing({{520, 535}}));
    CHECK(pa.missing({{540, 554}}));
    // A longer one that reaches into its time.
    CHECK_FALSE(pa.missing({{500, 555}}));
    CHECK(pa.missing({{500, 554}}));
    // Whoever else has one does not help.
    pa.plan.breaks = {{.person = "Ada", .from = at(9, 0), .to = at(9, 15)}};
    CHECK(saying(pa.plan, pa.room, "does not get a break") == 1);
}

TEST_CASE("one break is not two, and each goes where it fits", "[found]") {
    OnePerson pa({owed(540, 600, 15), owed(540, 660, 15)});
    CHECK_FALSE(pa.missing({{540, 555}, {560, 575}}));
    CHECK(pa.missing({{540, 555}}));
    CHECK(pa.missing({{540, 570}}));
    CHECK(pa.missing({}));
    // The first of the plan fits both; it must be left to the one that fits nowhere else.
    CHECK_FALSE(pa.missing({{600, 615}, {650, 665}}));
    CHECK(pa.missing({{650, 665}, {620, 635}}));
}

TEST_CASE("breaks that cannot all be had are owed as far as they can", "[found]") {
    // Both must begin at 9:00; one of them is owed.
    OnePerson pa({owed(540, 540, 15), owed(540, 540, 15)});
    CHECK_FALSE(pa.missing({{540, 555}}));
    CHECK(pa.missing({}));
}

TEST_CASE("breaks of one night stand in each other's way, before and after midnight", "[found]") {
    // 20 min from 23:45 to 0:15 on, 25 min from 23:45 to 0:30 on, 30 min at 0:15: two can be had.
    OnePerson pa({owed(1425, 1455, 20), owed(1425, 1470, 25), owed(15, 15, 30)});
    pa.room.room.people[0].shifts[0].from = model::hours(22);
    pa.room.room.people[0].shifts[0].to = minutes(27 * 60 + 15);
    pa.plan.run.last_end = at(40, 0);
    CHECK_FALSE(pa.missing({{1425, 1445}, {1445, 1470}}));
    CHECK_FALSE(pa.missing({{1425, 1450}, {1455, 1485}}));
    CHECK(pa.missing({{1425, 1445}}));
    CHECK(pa.missing({{1455, 1485}}));
}

// ---- people ------------------------------------------------------------------------------------

namespace {

// Pa stays half an hour longer when asked. Work that is said, by minute of the day.
struct Working : OnePerson {
    Working() : OnePerson({}) { pa().overtime = minutes(30); }
    model::Person& pa() { return room.room.people[0]; }
    void works(int from, int to, const std::string& screen = "", const char* place = "") {
        add(plan, screen,
            {{.step = "inspect",
              .from = at(0, from),
              .to = at(0, to),
              .place = place,
              .people = {"Pa"}}});
    }
    int saying(const std::string& words) const { return hand_made::saying(plan, room, words); }
};

}  // namespace

TEST_CASE("somebody is there in their shifts and as much longer as room.yaml says", "[found]") {
    const auto away = [](int from, int to, const auto& change) {
        Working x;
        change(x.pa());
        x.works(from, to);
        return x.saying("Pa is not there from");
    };
    const auto none = [](model::Person&) {};
    CHECK(away(360, 370, none) == 0);
    CHECK(away(359, 370, none) == 1);
    CHECK(away(860, 870, none) == 0);
    CHECK(away(860, 871, none) == 1);
    // The day is a Thursday, 26 November.
    const auto all_but = [](std::size_t weekday) {
        return [weekday](model::Person& p) { p.shifts[0].weekdays[weekday] = false; };
    };
    CHECK(away(400, 410, all_but(4)) == 0);
    CHECK(away(400, 410, all_but(3)) == 1);
    const auto absent = [](SimTime on) {
        return [on](model::Person& p) { p.absent = {model::date_of(on)}; };
    };
    CHECK(away(400, 410, absent(at(0, 0))) == 1);
    CHECK(away(400, 410, absent(at(24, 0))) == 0);
}

TEST_CASE("nobody stays longer for the store", "[found]") {
    Working x;
    x.plan.returns = {{.tag = "R1", .frame = "58 x 84 cm", .mesh = "77-55", .state = "inky"}};
    x.works(830, 840, "R1");
    CHECK(x.saying("nobody stays longer") == 0);
    x.works(840, 841, "R1");
    CHECK(x.saying("nobody stays longer") == 1);
    CHECK(x.saying("is not there from") == 0);
}

TEST_CASE("whoever minds a load minds all of it, and nothing else", "[found]") {
    Working x;
    x.works(400, 410, "", "exposure unit");
    x.works(400, 410, "", "exposure unit");
    CHECK(x.saying("is in two places") == 1);
    x.plan.operations[0].batch = x.plan.operations[1].batch = 3;
    CHECK(x.saying("is in two places") == 0);
    x.plan.operations[1].batch = 4;
    CHECK(x.saying("is in two places") == 1);
    x.plan.operations[1].batch = 3;
    x.plan.operations[1].place = "light table";
    CHECK(x.saying("is in two places") == 1);
    x.plan.operations[1].place = "exposure unit";
    x.plan.operations[1].start += Seconds{1};
    CHECK(x.saying("is in two places") == 1);
}

TEST_CASE("long work is in the way of all that begins in it", "[found]") {
    Working x;
    x.works(400, 460);
    x.works(410, 420);
    x.works(430, 440);
    x.works(460, 470);
    CHECK(x.saying("is in two places") == 2);
}

// Common practice, no source: a cabinet's door does not open by itself.
TEST_CASE("a screen is carried by somebody with hands free", "[found]") {
    const auto carried = [](const auto& change) {
        Working x;
        x.plan = exposed_screen(
            {{.step = "dry-coat", .from = at(6, 0), .to = at(7, 0), .place = "cabinet"},
             {.step = "take-out", .from = at(7, 0), .to = at(7, 1), .place = "rack"}});
        x.room.orders = {
            {.name = "S",
             .lines = {{.frame = usual, .emulsion = "dual-cure A", .coat_plan = "2+2"}}}};
        change(x);
        return x.saying("and nobody is there");
    };
    CHECK(carried([](Working&) {}) == 0);
    CHECK(carried([](Working& x) { x.room.room.people.clear(); }) == 1);
    CHECK(carried([](Working& x) { x.pa().shifts[0].from = minutes(421); }) == 1);
    CHECK(carried([](Working& x) { x.works(410, 430); }) == 1);
    // Just done, or about to begin: free.
    CHECK(carried([](Working& x) { x.works(410, 420); }) == 0);
    CHECK(carried([](Working& x) { x.works(420, 430); }) == 0);
    const auto pausing = [](int from, int to) {
        return [from, to](Working& x) {
            x.plan.breaks = {{.person = "Pa", .from = at(0, from), .to = at(0, to)}};
        };
    };
    CHECK(carried(pausing(410, 430)) == 1);
    CHECK(carried(pausing(420, 430)) == 0);
    // Pa takes it out, or hangs it up: handed over.
    CHECK(carried([](Working& x) {
              x.works(410, 430);
              x.plan.operations[1].people = {"Pa"};
              x.plan.operations[1].people_until = x.plan.operations[1].end;
          }) == 0);
    // A large frame is for two.
    const auto large = [](Working& x) {
        x.room.room.limits.two_people_from =
            model::Area{model::Centimetres{50}, model::Centimetres{80}};
    };
    CHECK(carried(large) == 1);
    CHECK(carried([&](Working& x) {
              large(x);
              x.room.room.people.push_back(x.pa());
              x.room.room.people[1].name = "Po";
          }) == 0);
}
