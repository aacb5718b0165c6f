// What was decided for a day (longer, first, another), put into the scenario: what holds of it on
// that day, and on no other.

#include "sched/app/parts/day_change.hpp"

#include <array>
#include <map>
#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "sched/compile/room_problem.hpp"
#include "tests/catch.hpp"

using namespace sched;

namespace {

using journal::Mark;

model::SimTime at_hour(const std::string& text) {
    return *model::parse_date_time(text);
}

// Monday to Friday 07:00 to 15:30 with half an hour that he may stay, and an evening shift on
// Thursdays.
model::Scenario two_shift_scenario() {
    model::Diagnostics none;
    auto scenario =
        *model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/first-day", none);
    auto& ada = scenario.room.people.front();
    const std::array<bool, 7> week{true, true, true, true, true, false, false};
    const std::array<bool, 7> thursday{false, false, false, true, false, false, false};
    ada.shifts = {{week, std::chrono::hours{7}, std::chrono::minutes{15 * 60 + 30}},
                  {thursday, std::chrono::hours{18}, std::chrono::hours{20}}};
    ada.breaks.clear();
    ada.absent.clear();
    ada.overtime = std::chrono::minutes{30};
    return scenario;
}

std::vector<model::LongerDay> longer_after(const std::vector<std::string>& times,
                                           const std::string& now) {
    auto scenario = two_shift_scenario();
    std::vector<journal::Entry> entries;
    for (const auto& t : times) {
        entries.push_back({.id = static_cast<std::int64_t>(entries.size()) + 1,
                           .time = at_hour(t),
                           .entered = at_hour(t),
                           .mark = Mark::Longer,
                           .what = scenario.room.people.front().name});
    }
    app::put_changes(entries, at_hour("2026-11-26T00:00"), at_hour(now), scenario);
    CHECK(scenario.room.people.front().overtime == std::chrono::minutes{30});
    return scenario.room.people.front().longer;
}

}  // namespace

TEST_CASE("an hour longer is of the mark's day", "[app][decided]") {
    const model::LocalDate thursday = *model::parse_date("2026-11-26");
    const model::LocalDate friday = *model::parse_date("2026-11-27");
    using Days = std::vector<model::LongerDay>;
    const model::Seconds hour{3600};
    CHECK(longer_after({"2026-11-26T06:30"}, "2026-11-26T07:00") == Days{{thursday, hour}});
    CHECK(longer_after({"2026-11-26T09:00"}, "2026-11-26T09:00") == Days{{thursday, hour}});
    // The evening shift ends at 20:00, with half an hour: whoever stays may say so till 21:30.
    CHECK(longer_after({"2026-11-26T21:29"}, "2026-11-26T21:29") == Days{{thursday, hour}});
    CHECK(longer_after({"2026-11-26T21:30"}, "2026-11-26T21:30") == Days{{friday, hour}});
    CHECK(longer_after({"2026-11-26T09:00", "2026-11-26T19:00"}, "2026-11-26T19:00") ==
          Days{{thursday, 2 * hour}});
    // It is still that day's on the days after.
    CHECK(longer_after({"2026-11-26T09:00", "2026-11-27T09:00"}, "2026-11-27T10:00") ==
          Days{{thursday, hour}, {friday, hour}});
    // Saturday and Sunday nobody works: the mark asks for nothing.
    CHECK(longer_after({"2026-11-28T09:00"}, "2026-11-28T09:00").empty());
    // Not before it is marked.
    CHECK(longer_after({"2026-11-26T09:00"}, "2026-11-26T08:59").empty());
}

TEST_CASE("the hour can be worked on its day and on no other", "[app][decided]") {
    auto scenario = two_shift_scenario();
    auto& ada = scenario.room.people.front();
    const auto from = at_hour("2026-11-26T00:00");
    const auto windows = [&](const model::Scenario& s) {
        model::Diagnostics diagnostics;
        compile::CompileOptions options;
        options.start = from;
        options.days = 2;
        const auto room = compile::compile_room(s, options, diagnostics);
        REQUIRE(room);
        for (const auto& r : room->problem.resources) {
            if (r.name == ada.name) return *r.calendar;
        }
        FAIL("she is no resource");
        return core::Calendar{};
    };
    const auto window = [](const char* a, const char* b) {
        return core::Window{at_hour(a), at_hour(b)};
    };
    // By hand: the shifts, the last of each day half an hour longer.
    const core::Calendar usual{window("2026-11-26T07:00", "2026-11-26T15:30"),
                               window("2026-11-26T18:00", "2026-11-26T20:30"),
                               window("2026-11-27T07:00", "2026-11-27T16:00")};
    CHECK(windows(scenario) == usual);
    ada.longer = {{*model::parse_date("2026-11-26"), model::Seconds{3600}}};
    auto longer = usual;
    longer[1].to = at_hour("2026-11-26T21:30");
    CHECK(windows(scenario) == longer);
    ada.longer = {{*model::parse_date("2026-11-27"), model::Seconds{7200}}};
    longer = usual;
    longer[2].to = at_hour("2026-11-27T18:00");
    CHECK(windows(scenario) == longer);
}

TEST_CASE("one more order for which there are no frames is left out, not the day",
          "[app][decided]") {
    // By hand: five frames, three wanted by A and one by B; one more of A wants three, one more of
    // B the one that is left.
    model::Scenario s;
    const model::Area frame{model::Centimetres{58}, model::Centimetres{84}};
    const model::Area turned{model::Centimetres{84}, model::Centimetres{58}};
    const auto order = [&](const char* name, int count) {
        return model::Order{.name = name,
                            .lines = {{.count = count, .mesh = "77-55", .frame = frame}}};
    };
    s.orders = {order("A", 3), order("B", 1), order("A-more1", 3), order("B-more1", 1)};
    s.frames = {
        {.size = frame, .mesh = "77-55", .count = 2},
        {.size = turned, .mesh = "77-55", .state = model::FrameState::Inky, .count = 3},
        {.size = frame, .mesh = "120-34", .count = 9},
        {.size = frame, .mesh = "77-55", .state = model::FrameState::KeptStencil, .count = 4}};
    auto left = app::leave_out_frameless(2, s);
    REQUIRE(left.size() == 1);
    CHECK(left[0].order == "A-more1");
    CHECK(left[0].missing == "2 frames of 58 x 84 cm with mesh 77-55");
    REQUIRE(s.orders.size() == 3);
    CHECK(s.orders[2].name == "B-more1");
    // What the files themselves ask for is not for this to judge.
    s.orders[0].lines[0].count = 9;
    CHECK(app::leave_out_frameless(3, s).empty());
    // A repeat order has its stencils once.
    s.orders = {order("A", 1), order("A-more1", 1)};
    s.orders[1].lines[0].kept_stencil = true;
    left = app::leave_out_frameless(1, s);
    REQUIRE(left.size() == 1);
    CHECK(left[0].missing == "its kept stencils");
}

TEST_CASE("one more order that leaves its mesh open is left out where frames are short",
          "[app][decided]") {
    model::Diagnostics none;
    auto s = *model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/first-day", none);
    const compile::CompileOptions options{.start = at_hour("2026-11-26T00:00")};
    // Of the frames of the store as many as the orders take, and one more of each mesh.
    std::map<std::string, int> wanted;
    for (const auto& order : s.orders) {
        for (const auto& line : order.lines)
            wanted[*line.mesh] += line.count;
    }
    s.frames.clear();
    const model::Area size = s.orders[0].lines[0].frame;
    for (const auto& [mesh, count] : wanted)
        s.frames.push_back({.size = size, .mesh = mesh, .count = count + 1});
    const std::size_t known = s.orders.size();
    auto& open = s.orders[0];
    REQUIRE(open.lines.size() == 1);
    REQUIRE(open.lines[0].count > 1);
    open.lines[0].mesh.reset();
    open.lines[0].ruling = model::LinesPerCm{15};
    model::Order more = open;
    more.name = "more";
    model::Order one = more;
    one.name = "one";
    one.lines[0].count = 1;
    s.orders.push_back(more);
    s.orders.push_back(one);
    CHECK(app::leave_out_frameless(known, s).empty());  // it does not count open lines
    const auto left = app::leave_out_without_mesh(known, options, s);
    REQUIRE(left.size() == 1);
    CHECK(left[0].order == "more");
    INFO(left[0].missing);
    CHECK(left[0].missing.find("frame") != std::string::npos);
    REQUIRE(s.orders.size() == known + 1);
    CHECK(s.orders.back().name == "one");
    CHECK(compile::compile_room(s, options, none));
}
