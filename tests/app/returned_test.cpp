// Frames that come back from the press during the run: reclaimed in idle time, counted to the last.

#include "sched/app/parts/returned.hpp"

#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <random>

#include "model/read/scenario.hpp"
#include "sched/app/parts/pinned.hpp"
#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/store_lines.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"

namespace {

namespace fs = std::filesystem;
using namespace sched;
using model::FrameState;

model::SimTime that_time(const std::string& text) {
    return *model::parse_date_time("2026-11-26T" + text);
}

model::Scenario read_room(const std::string& folder) {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/" + folder, d);
    REQUIRE(s);
    return *s;
}

model::FrameStock back(const std::string& mesh, FrameState state, int count, model::SimTime from,
                       std::optional<bool> haze = std::nullopt) {
    return {.size = {model::Centimetres{58}, model::Centimetres{84}},
            .mesh = mesh,
            .state = state,
            .count = count,
            .haze = haze,
            .from = from};
}

struct Planned {
    compile::CompileOptions options{.start = that_time("00:00")};
    compile::RoomProblem room;
    core::Solution solution;
    app::FilledPlan filled;
};

// Used frames that stand in the store are reclaimed in idle time too: not what is looked at here.
std::vector<compile::ReturnInfo> returns_from(const Planned& p, int first_stock) {
    auto returns = p.filled.room.returns;
    std::erase_if(returns, [&](const auto& x) { return x.stock < first_stock; });
    return returns;
}

Planned plan(const model::Scenario& s, const std::vector<std::string>& pins = {}) {
    Planned p;
    model::Diagnostics d;
    const auto room = compile::compile_room(s, p.options, d);
    REQUIRE(room);
    p.room = *room;
    const app::Pinned pinned = app::hold_pins(pins, p.room);
    REQUIRE_FALSE(pinned.status);
    p.solution = search::solve(pinned.problem, {.budget = {.evaluations = 20}});
    REQUIRE(p.solution.schedule);
    p.solution.value = core::evaluate(p.room.problem, *p.solution.schedule);
    p.filled = app::fill_returns(pins, s, p.options, p.room, p.solution);
    return p;
}

// What the checker says, and that the run itself is as it was.
void expect_sound(const Planned& p) {
    const auto& schedule = *p.filled.solution.schedule;
    for (const auto& v : check::check(p.filled.pinned, schedule))
        UNSCOPED_INFO(v.words);
    CHECK(check::check(p.filled.pinned, schedule).empty());
    CHECK(check::check(p.filled.room.problem, schedule).empty());
    const auto& before = p.solution.schedule->placements;
    REQUIRE(schedule.placements.size() >= before.size());
    CHECK(std::equal(before.begin(), before.end(), schedule.placements.begin()));
    CHECK(core::evaluate(p.filled.room.problem, schedule) == p.solution.value);
    CHECK(p.filled.solution.value == p.solution.value);
}

using Count = std::map<std::pair<std::string, FrameState>, int>;

// Every frame is counted: in the store before = in it afterwards + under screens of the run, where
// reclaiming moves it from one state to another and nothing else does.
void expect_all_counted(const model::Scenario& s, const Planned& p) {
    Count in, out;
    for (const auto& x : s.frames)
        in[{x.mesh, x.state}] += x.count;
    for (const auto& screen : p.filled.room.screens)
        --in[{screen.mesh, screen.source}];
    for (const auto& x : p.filled.room.returns) {
        const auto& stock = s.frames[static_cast<std::size_t>(x.stock)];
        --in[{stock.mesh, stock.state}];
        ++in[{stock.mesh, x.becomes}];
    }
    for (const auto& x : p.filled.room.stock_after)
        out[{x.mesh, x.state}] += x.count;
    std::erase_if(in, [](const auto& x) { return x.second == 0; });
    CHECK(in == out);
}

}  // namespace

TEST_CASE("frames that come back are reclaimed in idle time, and no order is the later for it",
          "[returned]") {
    auto s = read_room("first-day");
    const int stock = static_cast<int>(s.frames.size());
    s.frames.push_back(back("77-55", FrameState::Inky, 2, that_time("13:30"), true));
    s.frames.push_back(back("120-34", FrameState::OldStencil, 1, that_time("14:00"), false));
    s.frames.push_back(
        back("77-55", FrameState::Inky, 3, that_time("08:00") + std::chrono::days{1}));
    const auto p = plan(s);
    expect_sound(p);
    expect_all_counted(s, p);
    const auto returns = returns_from(p, stock);
    REQUIRE(returns.size() == 3);
    for (std::size_t i = 0; i < 3; ++i) {
        const auto& x = returns[i];
        INFO(x.tag);
        CHECK(x.becomes == FrameState::Ready);
        model::SimTime last = x.from;
        for (const auto& part : x.parts) {
            for (const auto id : part) {
                const auto& placed = p.filled.solution.schedule->placements[id.index()];
                CHECK(placed.start >= last);
                last = placed.work_end;
                CHECK(placed.end <= that_time("15:30"));  // Ada's shift
            }
        }
    }
    // Inky with haze: ink off, degrease, standing, remover, rinse, haze, standing, degrease,
    // standing, hanging up, drying.
    CHECK(returns[0].parts[0].size() + returns[0].parts[1].size() == 11);
    // Tomorrow's frames are still at the press.
    const auto& after = p.filled.room.stock_after;
    CHECK(std::any_of(after.begin(), after.end(), [](const auto& x) {
        return x.state == FrameState::Inky && x.count == 3 && x.from;
    }));
    CHECK(std::none_of(after.begin(), after.end(),
                       [](const auto& x) { return x.from && *x.from < that_time("23:00"); }));
}

TEST_CASE("a frame that comes too late loses at most its ink today", "[returned]") {
    auto s = read_room("first-day");
    const int stock = static_cast<int>(s.frames.size());
    // Ink off and degrease take 7.5 min and 1 min of standing; stripping to dry another 26.
    s.frames.push_back(back("77-55", FrameState::Inky, 1, that_time("15:15")));
    s.frames.push_back(back("120-34", FrameState::Inky, 1, that_time("15:28")));
    const auto p = plan(s);
    expect_sound(p);
    expect_all_counted(s, p);
    const auto returns = returns_from(p, stock);
    REQUIRE(returns.size() == 2);
    CHECK(returns[0].becomes == FrameState::OldStencil);
    CHECK(returns[1].becomes == FrameState::Inky);
    CHECK(returns[1].parts.empty());
}

TEST_CASE("who is pinned away reclaims nothing either", "[returned]") {
    auto s = read_room("tomorrow");
    s.orders.resize(s.orders.size() / 2);  // so that there is idle time
    s.frames.push_back(back("77-55", FrameState::Inky, 6, that_time("09:00")));
    const auto people_of_fillers = [](const Planned& p) {
        std::map<std::string, int> count;
        for (std::size_t i = 0; i < p.filled.room.operations.size(); ++i) {
            if (p.filled.room.operations[i].returned < 0) continue;
            for (const auto r : p.filled.solution.schedule->placements[i].chosen)
                ++count[p.filled.room.problem.resources[r.index()].name];
        }
        return count;
    };
    const auto free = plan(s);
    expect_sound(free);
    CHECK(people_of_fillers(free)["Ben"] > 0);
    const auto pinned = plan(s, {"all without Ben"});
    expect_sound(pinned);
    expect_all_counted(s, pinned);
    auto count = people_of_fillers(pinned);
    CHECK(count["Ben"] == 0);
    CHECK(count.size() > 1);  // others did
}

TEST_CASE("any frames that come back any time leave every frame counted and the run as it was",
          "[returned][property]") {
    std::mt19937 random(7);
    const auto draw = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
    const auto base = read_room("first-day");
    int reclaimed = 0, left = 0;
    for (int round = 0; round < 40; ++round) {
        auto s = base;
        const int lines = 1 + draw(5);
        for (int k = 0; k < lines; ++k) {
            const std::optional<bool> haze =
                draw(3) == 0 ? std::nullopt : std::optional(draw(2) == 0);
            s.frames.push_back(back(
                draw(2) ? "77-55" : "120-34", draw(2) ? FrameState::Inky : FrameState::OldStencil,
                1 + draw(8), that_time("05:00") + model::minutes(draw(1400)), haze));
        }
        s.room.people[0].overtime = model::hours(draw(3));
        const auto p = plan(s);
        INFO("round " << round);
        expect_sound(p);
        expect_all_counted(s, p);
        for (const auto& x : p.filled.room.returns)
            ++(x.becomes == FrameState::Ready ? reclaimed : left);
    }
    CHECK(reclaimed > 50);
    CHECK(left > 10);
}

TEST_CASE("the stock that a plan leaves is read as tomorrow's frames", "[returned]") {
    auto s = read_room("tomorrow");
    s.frames.push_back(back("43-80", FrameState::Inky, 4, that_time("10:00"), true));
    s.frames.push_back({.size = {model::Centimetres{58}, model::Centimetres{84}},
                        .mesh = "77-55",
                        .state = FrameState::Coated,
                        .count = 2,
                        .coated_dry = that_time("02:00"),
                        .emulsion = s.room.emulsions[0].name,
                        .coat_plan = s.room.coat_plans[0].name});
    const auto p = plan(s);
    const auto document =
        report::make_plan_document(s, p.filled.room, p.filled.solution, {.version = "test"});
    CHECK(report::contradictions(document).empty());

    const fs::path folder =
        fs::temp_directory_path() / ("coatroom-frames-" + std::to_string(getpid()));
    fs::remove_all(folder);
    fs::copy(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", folder);
    std::ofstream(folder / "frames.csv") << report::to_frames_csv(document);
    model::Diagnostics d;
    const auto again = model::read_scenario(folder.string(), d);
    fs::remove_all(folder);
    for (const auto& x : d.all())
        UNSCOPED_INFO(model::to_text(x));
    REQUIRE(again);
    CHECK(d.error_count() == 0);
    auto read_back = again->frames;
    for (auto& x : read_back)
        x.place = {};
    CHECK(read_back == p.filled.room.stock_after);

    // And the document itself, through its file.
    model::Diagnostics none;
    const auto parsed = report::plan_from_json(report::plan_to_json(document), none, "plan.json");
    REQUIRE(parsed);
    CHECK(*parsed == document);
}
