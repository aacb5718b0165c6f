// Walking times between parts of the premises: what the compiler makes of them.

#include <algorithm>
#include <map>

#include "sched/compile/room_problem.hpp"
#include "tests/catch.hpp"
#include "tests/compile/walk_room.hpp"

using namespace model;
using sched::compile::compile_room;
using sched::compile::RoomProblem;
using walk_room::begins;
using walk_room::room_of_parts;
namespace core = sched::core;

namespace {

RoomProblem compiled_days(const Scenario& s, Diagnostics& d) {
    auto room = compile_room(s, {.start = begins, .days = 2}, d);
    for (const auto& x : d.all())
        UNSCOPED_INFO(to_text(x));
    REQUIRE(room);
    return *std::move(room);
}

/// How much longer each operation of B1-1 is for walking, by name, in each of its ways.
std::map<std::string, std::vector<std::int64_t>> walked(const RoomProblem& with,
                                                        const RoomProblem& without) {
    std::map<std::string, std::vector<std::int64_t>> out;
    REQUIRE(with.problem.operations.size() == without.problem.operations.size());
    for (std::size_t i = 0; i < with.problem.operations.size(); ++i) {
        const auto& plain = without.problem.operations[i];
        for (std::size_t m = 0; m < with.problem.operations[i].modes.size(); ++m) {
            const auto& mode = with.problem.operations[i].modes[m];
            const auto& known = plain.modes[std::min(m, plain.modes.size() - 1)];
            out[plain.name].push_back((mode.work - known.work).count());
        }
    }
    return out;
}

}  // namespace

// By hand: the degreased mesh goes from the wet area to the dark room (40 s, with the hanging up),
// stays there till it is exposed, is brought to the booth (40 s, with the wash-out) and back to the
// cabinet (40 s, hanging up), and from the rack to the table in the office (25 s; 600 s would be
// the way back).
TEST_CASE("carrying belongs to the attended work", "[compile][walks]") {
    Diagnostics d;
    const Scenario with = room_of_parts(false);
    Scenario without = with;
    without.room.walks.clear();
    const auto times = walked(compiled_days(with, d), compiled_days(without, d));
    using Times = std::vector<std::int64_t>;
    CHECK(times.at("degrease B1-1") == Times{0});
    CHECK(times.at("put in B1-1") == Times{40, 0, 40});  // mesh, coat, stencil
    CHECK(times.at("dry the mesh B1-1") == Times{0});
    CHECK(times.at("coat B1-1 (1+1)") == Times{0});
    CHECK(times.at("wash out B1-1") == Times{40});
    CHECK(times.at("inspect and block out B1-1") == Times{25});
    std::int64_t sum = 0;
    for (const auto& [name, ways] : times) {
        for (const std::int64_t more : ways)
            sum += more;
    }
    CHECK(sum == 40 + 40 + 40 + 25);
    CHECK(d.all().empty());
}

TEST_CASE("two cabinets far apart are two ways of hanging up", "[compile][walks]") {
    Diagnostics d;
    const Scenario with = room_of_parts(true);
    Scenario without = with;
    without.room.walks.clear();
    const RoomProblem room = compiled_days(with, d);
    const RoomProblem plain = compiled_days(without, d);
    const auto times = walked(room, plain);
    using Times = std::vector<std::int64_t>;
    CHECK(times.at("degrease B1-1") == Times{0});
    CHECK(times.at("put in B1-1") == Times{40, 120, 0, 100, 40, 120});  // wet, dark, wet
    CHECK(times.at("take out B1-1") ==
          Times{0, 100, 0, 100, 0, 100});  // three dryings, from each cabinet to the rack
    CHECK(times.at("coat B1-1 (1+1)") == Times{0});
    CHECK(times.at("wash out B1-1") == Times{40});
    CHECK(times.at("inspect and block out B1-1") == Times{25});
    const auto ties = [](const RoomProblem& r) {
        return std::count_if(
            r.problem.constraints.begin(), r.problem.constraints.end(),
            [](const core::Constraint& c) { return std::holds_alternative<core::SameMode>(c); });
    };
    CHECK(ties(room) == ties(plain));  // hanging up, drying and taking out are one cabinet's anyway
    CHECK(d.all().empty());
}

TEST_CASE("without a rack the longer way counts, and that is said", "[compile][walks]") {
    Diagnostics d;
    Scenario s = room_of_parts(true);
    std::erase_if(s.room.stations, [](const Station& x) { return x.name == "rack"; });
    Scenario without = s;
    without.room.walks.clear();
    Diagnostics none;
    const auto times = walked(compiled_days(s, d), compiled_days(without, none));
    // From the cabinet to the stand: one way for each. To the unit, which has ways of its own (one
    // a lamp), the longer one counts.
    using Times = std::vector<std::int64_t>;
    CHECK(times.at("coat B1-1 (1+1)") == Times{0, 100});
    CHECK(times.at("load the unit with B1-1") == Times{100});
    REQUIRE(d.all().size() == 1);
    CHECK(d.all().front().code == "walk-longest");
}

TEST_CASE("a room without walks is compiled as ever", "[compile][walks]") {
    Diagnostics d;
    Scenario s = room_of_parts(true);
    s.room.walks.clear();
    const RoomProblem named = compiled_days(s, d);
    for (auto& station : s.room.stations)
        station.stands_in.clear();
    CHECK(named.problem == compiled_days(s, d).problem);
}
