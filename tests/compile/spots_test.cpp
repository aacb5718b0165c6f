// Which stations stand side by side, by hand, and what the compiled problem makes of it.

#include "model/room/spots.hpp"
#include "sched/compile/room_problem.hpp"
#include "tests/catch.hpp"
#include "tests/compile/walk_room.hpp"

using model::Station;
using model::Step;

namespace {

using Spots = std::vector<std::size_t>;

model::Room room_of(std::vector<Station> stations) {
    model::Room room;
    room.stations = std::move(stations);
    return room;
}

}  // namespace

TEST_CASE("a rack stands beside the first cabinet of its part of the premises", "[compile]") {
    const Station sink{.name = "sink", .does = {Step::Degrease}};
    const Station cabinet{.name = "cabinet", .does = {Step::DryCoat}};
    const Station second{.name = "second cabinet", .does = {Step::DryMesh, Step::DryCoat}};
    Station rack{.name = "rack", .does = {Step::TakeOut, Step::DryTouchUp}};
    CHECK(spots_of(room_of({sink, cabinet, second, rack})) == Spots{0, 1, 2, 1});
    CHECK(spots_of(room_of({rack, sink, cabinet})) == Spots{0, 1, 0});
    CHECK(spots_of(room_of({sink, rack})) == Spots{0, 1});
    SECTION("unless it says otherwise") {
        rack.beside = "none";
        CHECK(spots_of(room_of({sink, cabinet, second, rack})) == Spots{0, 1, 2, 3});
        rack.beside = "second cabinet";
        CHECK(spots_of(room_of({sink, cabinet, second, rack})) == Spots{0, 1, 2, 2});
    }
    SECTION("or stands in another part") {
        rack.stands_in = "cellar";
        CHECK(spots_of(room_of({sink, cabinet, rack})) == Spots{0, 1, 2});
    }
    SECTION("what is beside one of a spot is of the spot") {
        Station stand{.name = "stand", .does = {Step::Coat}, .beside = "table"};
        const Station table{.name = "table", .does = {Step::Inspect}, .beside = "rack"};
        CHECK(spots_of(room_of({stand, sink, cabinet, rack, table})) == Spots{0, 1, 0, 0, 0});
    }
}

TEST_CASE("resources at one spot are beside the first of them", "[compile]") {
    model::Diagnostics d;
    const auto room = sched::compile::compile_room(walk_room::room_of_parts(true),
                                                   {.start = walk_room::begins, .days = 2}, d);
    REQUIRE(room);
    const auto& resources = room->problem.resources;
    int beside = 0;
    for (const auto& r : resources) {
        if (!r.beside) continue;
        ++beside;
        CHECK(r.name == "rack");
        CHECK(resources[r.beside->index()].name == "cabinet");
    }
    CHECK(beside == 1);
}
