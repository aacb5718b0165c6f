// Times that differ by station, frame and person (`but` of room.yaml), by hand.

#include <algorithm>
#include <set>

#include "sched/compile/room_problem.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "tests/catch.hpp"

using namespace model;
using sched::compile::compile_room;
using sched::compile::RoomProblem;
using sched::core::Mode;

namespace {

// A stand and a coating machine, a booth and a table, Ada and Ben; the cabinet types its minutes.
Scenario coat_room() {
    Scenario s;
    s.room.name = "two ways to coat";
    s.room.stations = {
        {.name = "sink", .does = {Step::Degrease}},
        {.name = "stand", .does = {Step::Coat}, .light_safe = true},
        {.name = "machine", .does = {Step::Coat}, .light_safe = true},
        {.name = "cabinet",
         .does = {Step::DryMesh, Step::DryCoat, Step::DryStencil},
         .places = 4,
         .light_safe = true},
        {.name = "unit", .does = {Step::Expose}, .light_safe = true, .lamp = Lamp{}},
        {.name = "booth", .does = {Step::WashOut}, .light_safe = true},
        {.name = "table", .does = {Step::Inspect}},
    };
    const Shift day{.weekdays = {true, true, true, true, true, false, false},
                    .from = hours(6),
                    .to = hours(14)};
    s.room.people = {{.name = "Ada", .shifts = {day}}, {.name = "Ben", .shifts = {day}}};
    s.room.emulsions = {
        {.name = "blue", .batch = Millilitres{1000}, .base_stencil = Micrometres{60}}};
    s.room.pots = {{.name = "blue 1", .emulsion = "blue", .volume = Millilitres{1000}}};
    s.room.meshes = {{.name = "90-48"}};
    s.room.coat_plans = {{.name = "2+2"}};
    const Area frame{Centimetres{58}, Centimetres{84}};
    s.orders = {{.name = "B3",
                 .due = *parse_date_time("2026-11-26T12:00"),
                 .lines = {{.count = 1,
                            .mesh = "90-48",
                            .frame = frame,
                            .emulsion = "blue",
                            .coat_plan = "2+2"}}}};
    s.frames = {{.size = frame, .mesh = "90-48", .state = FrameState::Ready}};
    s.room.steps[Step::Coat] = {minutes(4), Seconds{0}, {}};
    return s;
}

RoomProblem compiled(const Scenario& s) {
    Diagnostics d;
    auto room = compile_room(s, {.start = *parse_date_time("2026-11-26T00:00")}, d);
    for (const auto& x : d.all())
        UNSCOPED_INFO(to_text(x));
    REQUIRE(room);
    CHECK(sched::core::validate(room->problem).empty());
    return *std::move(room);
}

// First operation of the step, or of what stands after it.
std::size_t operation_of(const RoomProblem& room, Step step, route::Part part) {
    for (std::size_t i = 0; i < room.operations.size(); ++i) {
        if (room.operations[i].step == step && room.operations[i].part == part) return i;
    }
    FAIL("no such operation");
    return 0;
}

/// Names that the need can be met by.
std::set<std::string> names(const RoomProblem& room, const Mode& mode, std::size_t need) {
    std::set<std::string> out;
    for (const auto id : mode.needs.at(need).any_of)
        out.insert(room.problem.resources[id.index()].name);
    return out;
}

using Names = std::set<std::string>;

}  // namespace

TEST_CASE("a coating machine takes one minute of hands and six of its own", "[compile][times]") {
    Scenario s = coat_room();
    s.room.steps[Step::Coat].but = {
        {.at = {"machine"}, .attended = minutes(1), .stand = minutes(6)}};
    const RoomProblem room = compiled(s);
    const std::size_t coat = operation_of(room, Step::Coat, route::Part::Whole);
    const std::size_t stands = operation_of(room, Step::Coat, route::Part::Stand);
    const auto& work = room.problem.operations[coat].modes;
    const auto& alone = room.problem.operations[stands].modes;
    REQUIRE(work.size() == 2);
    REQUIRE(alone.size() == 2);
    CHECK(names(room, work[0], 0) == Names{"stand"});
    CHECK(work[0].work == minutes(4));
    CHECK(names(room, work[1], 0) == Names{"machine"});
    CHECK(work[1].work == minutes(1));
    CHECK(names(room, work[1], 1) == Names{"Ada", "Ben"});
    // Then nobody is there, and it is where it was: the ways are tied one by one.
    CHECK(alone[0].work == Seconds{0});
    CHECK(alone[1].work == minutes(6));
    CHECK(alone[1].needs.size() == 1);
    CHECK(names(room, alone[1], 0) == Names{"machine"});
    const auto& constraints = room.problem.constraints;
    CHECK(std::any_of(constraints.begin(), constraints.end(), [&](const auto& c) {
        const auto* same = std::get_if<sched::core::SameMode>(&c);
        return same != nullptr && same->a.index() == coat && same->b.index() == stands;
    }));
    // It may wait there for the cabinet; emulsion is taken once.
    CHECK_FALSE(room.problem.operations[stands].max_stretch);
    CHECK(std::count_if(constraints.begin(), constraints.end(), [&](const auto& c) {
              const auto* take = std::get_if<sched::core::Take>(&c);
              return take != nullptr &&
                     (take->operation.index() == coat || take->operation.index() == stands);
          }) == 1);
}

TEST_CASE("large frames take longer, and the exception wins over the coat plan",
          "[compile][times]") {
    Scenario s = coat_room();
    s.room.coat_plans[0].coat = minutes(5);
    s.room.steps[Step::Coat].but = {
        {.frames_from = Area{Centimetres{70}, Centimetres{100}}, .attended = minutes(9)}};
    s.room.steps[Step::Degrease] = {minutes(3), minutes(1), {}};
    s.room.steps[Step::Degrease].but = {{.frames_from = Area{Centimetres{50}, Centimetres{80}},
                                         .attended = minutes(7),
                                         .stand = minutes(2)}};
    // 58 x 84 is larger than 50 x 80 and not than 70 x 100.
    const RoomProblem room = compiled(s);
    const auto work = [&](const RoomProblem& r, Step step, route::Part part) {
        return r.problem.operations[operation_of(r, step, part)].modes.at(0).work;
    };
    CHECK(work(room, Step::Coat, route::Part::Whole) == minutes(5));
    CHECK(work(room, Step::Degrease, route::Part::Whole) == minutes(7));
    // One place does it all the same time: the choice stays one way.
    CHECK(
        room.problem.operations[operation_of(room, Step::Coat, route::Part::Whole)].modes.size() ==
        1);
    const Area large{Centimetres{72}, Centimetres{84}};
    s.orders[0].lines[0].frame = s.frames[0].size = large;
    CHECK(work(compiled(s), Step::Coat, route::Part::Whole) == minutes(9));
}

TEST_CASE("who is slower is a way of their own, and of two the slower one counts",
          "[compile][times]") {
    Scenario s = coat_room();
    s.room.people.push_back(s.room.people[1]);
    s.room.people[2].name = "Cleo";
    s.room.steps[Step::Coat].but = {{.by = {"Ben", "Cleo"}, .attended = minutes(5)},
                                    {.at = {"machine"}, .by = {"Cleo"}, .attended = minutes(8)}};
    // By hand: stand: Ada 4, Ben and Cleo 5. Machine: Ada 4, Ben 5, Cleo 8. Ways alike are joined.
    const RoomProblem room = compiled(s);
    const auto& modes =
        room.problem.operations[operation_of(room, Step::Coat, route::Part::Whole)].modes;
    REQUIRE(modes.size() == 4);
    CHECK(modes[0].work == minutes(4));
    CHECK(names(room, modes[0], 0) == Names{"stand", "machine"});
    CHECK(names(room, modes[0], 1) == Names{"Ada"});
    CHECK(modes[1].work == minutes(5));
    CHECK(names(room, modes[1], 0) == Names{"stand"});
    CHECK(names(room, modes[1], 1) == Names{"Ben", "Cleo"});
    CHECK(modes[2].work == minutes(5));
    CHECK(names(room, modes[2], 1) == Names{"Ben"});
    CHECK(modes[3].work == minutes(8));
    CHECK(names(room, modes[3], 1) == Names{"Cleo"});

    // Two carry it, everything: Ada alone is no pair; with Ben it takes 5, with Cleo at the
    // machine 8.
    s.room.limits.two_people_from = Area{Centimetres{20}, Centimetres{20}};
    s.room.limits.two_people_for.clear();
    const RoomProblem pairs = compiled(s);
    const auto& two =
        pairs.problem.operations[operation_of(pairs, Step::Coat, route::Part::Whole)].modes;
    REQUIRE(two.size() == 3);
    CHECK(two[0].work == minutes(5));
    CHECK(names(pairs, two[0], 1) == Names{"Ben", "Cleo"});
    CHECK(names(pairs, two[0], 2) == Names{"Ada", "Ben", "Cleo"});
    CHECK(two[2].work == minutes(8));
    CHECK(names(pairs, two[2], 1) == Names{"Cleo"});
}

TEST_CASE("a coated screen that stood is hung up at once: the next ones come", "[compile][times]") {
    // One sink, people and slots enough, two places to coat that take different times. By hand: the
    // sink has a frame for four minutes, so the sixteenth is begun after fifteen of them.
    Scenario s = coat_room();
    s.room.steps[Step::Degrease] = {minutes(3), minutes(1), {}};
    s.room.steps[Step::Coat].but = {
        {.at = {"machine"}, .attended = minutes(1), .stand = minutes(6)}};
    s.room.stations[3].places = 40;
    s.room.stations[3].air = CabinetAir{.supply = CubicMetresPerHour{900}};
    s.room.climate = Climate{};
    s.room.stations.push_back(
        {.name = "rack", .does = {Step::TakeOut}, .places = 40, .light_safe = true});
    for (const char* more : {"Cleo", "Dan", "Eva", "Finn", "Gus", "Hal"}) {
        s.room.people.push_back(s.room.people[0]);
        s.room.people.back().name = more;
    }
    s.orders[0].lines[0].count = 16;
    s.frames[0].count = 16;
    const RoomProblem room = compiled(s);
    const sched::engine::CompiledProblem flat(room.problem);
    sched::engine::Decoder decoder(flat);
    const auto views = sched::engine::rule_views(flat);
    REQUIRE(
        decoder.decode(sched::engine::rule_sequence(flat, views, sched::engine::rules().front())));
    const auto schedule = decoder.to_schedule();
    SimTime last{};
    for (std::size_t i = 0; i < room.operations.size(); ++i) {
        if (room.operations[i].step == Step::Degrease)
            last = std::max(last, schedule.placements[i].start);
    }
    CHECK(format_date_time(last) == "2026-11-26T07:00");
}
