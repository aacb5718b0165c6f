// The scenarios of the repository are read without a finding, are what their README says, and each
// file of the tutorial is short.

#include "model/read/scenario.hpp"

#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>

#include "model/room/steps.hpp"
#include "tests/catch.hpp"

namespace {

using namespace model;

Scenario scenario(const std::string& name) {
    Diagnostics diagnostics;
    auto read = read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/" + name, diagnostics);
    for (const Diagnostic& d : diagnostics.all())
        UNSCOPED_INFO(to_text(d));
    CHECK(diagnostics.all().empty());
    REQUIRE(read.has_value());
    return *read;
}

int screens_of(const Scenario& s) {
    int count = 0;
    for (const Order& order : s.orders) {
        for (const ScreenLine& line : order.lines)
            count += line.count;
    }
    return count;
}

int frames_in(const Scenario& s, FrameState state) {
    int count = 0;
    for (const FrameStock& stock : s.frames)
        count += stock.state == state ? stock.count : 0;
    return count;
}

}  // namespace

TEST_CASE("tomorrow is what the demo needs", "[read][scenarios]") {
    const Scenario s = scenario("tomorrow");
    CHECK(s.room.invented);
    CHECK(s.orders.size() == 12);
    CHECK(screens_of(s) == 40);
    CHECK(s.room.people.size() == 3);
    const auto& stations = s.room.stations;
    const auto cabinet = std::find_if(stations.begin(), stations.end(),
                                      [](const Station& x) { return x.name == "cabinet"; });
    REQUIRE(cabinet != stations.end());
    CHECK(cabinet->places == 12);
    CHECK(cabinet->air->temperature == Celsius{36});
    CHECK(cabinet->air->supply == CubicMetresPerHour{240});
    // Values by hand from the file: order A7 of two lines, due in its first line only.
    const Order& a7 = s.orders.at(6);
    CHECK(a7.name == "A7");
    CHECK(a7.due == *parse_date_time("2026-11-26 12:30"));
    CHECK(a7.priority == 4);
    REQUIRE(a7.lines.size() == 2);
    CHECK(a7.lines[0].count == 5);
    CHECK(a7.lines[0].ruling == LinesPerCm{30});
    CHECK(a7.lines[1].mesh == "77-55");
    CHECK(a7.place.line == 9);
    CHECK(a7.place.column == 1);
    CHECK(s.room.people[0].breaks.at(0) == Break{minutes(525), minutes(570), minutes(15)});
    CHECK(s.room.people[0].shifts.at(0).from == hours(6));
    CHECK(s.room.steps.at(Step::Haze) == StepTime{minutes(4), minutes(5), std::nullopt});
    CHECK(s.room.steps.at(Step::DryTouchUp).stand == minutes(12));
    // 120 m: 101325 (1 - 2.25577e-5 · 120)^5.2559 = 99,891 Pa, by hand
    CHECK(s.room.climate->pressure.value == Approx(99891).epsilon(1e-4));
}

TEST_CASE("the tutorial has six screens and no file of forty lines", "[read][scenarios]") {
    const Scenario s = scenario("first-day");
    CHECK(s.room.invented);
    CHECK(screens_of(s) == 6);
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv"}) {
        std::ifstream in(s.folder + "/" + name);
        const auto lines = std::count(std::istreambuf_iterator<char>(in), {}, '\n');
        INFO(name);
        CHECK(lines > 0);
        CHECK(lines < 40);
    }
}

TEST_CASE("the big day has 120 screens, two shifts, and reclaims half its frames",
          "[read][scenarios]") {
    const Scenario s = scenario("big-day");
    CHECK(s.room.invented);
    CHECK(screens_of(s) == 120);
    std::set<std::int64_t> begins;
    for (const Person& p : s.room.people)
        begins.insert(p.shifts.at(0).from.count() / 3600);
    CHECK(begins == std::set<std::int64_t>{6, 14});
    const int ready = frames_in(s, FrameState::Ready);
    CHECK(ready >= 45);
    CHECK(ready <= 66);
}

TEST_CASE("the damp day has weather by the hour and named days", "[read][scenarios]") {
    const Scenario s = scenario("damp-day");
    CHECK(s.room.invented);
    CHECK(screens_of(s) == 20);
    CHECK(s.weather.size() >= 24);
    CHECK(s.weather.front().from == *parse_date_time("2026-11-26 00:00"));
    CHECK(s.weather.front().air.humidity == RelativeHumidity{0.8});
    CHECK(s.room.climate->named_days.size() == 3);
    CHECK(s.room.climate->named_days.at("damp").humidity == RelativeHumidity{0.75});
}

TEST_CASE("every scenario has frames enough for its orders", "[read][scenarios]") {
    for (const char* name : {"first-day", "tomorrow", "big-day", "damp-day"}) {
        const Scenario s = scenario(name);
        std::map<std::pair<std::string, std::string>, int> left;
        for (const FrameStock& stock : s.frames) {
            left[{std::to_string(stock.size.width.value), stock.mesh}] += stock.count;
        }
        for (const Order& order : s.orders) {
            CHECK(date_of(order.due) >= *parse_date("2026-11-26"));
            for (const ScreenLine& line : order.lines) {
                left[{std::to_string(line.frame.width.value), *line.mesh}] -= line.count;
            }
        }
        for (const auto& [kind, count] : left) {
            INFO(name << " " << kind.second);
            CHECK(count >= 0);
        }
    }
}

TEST_CASE("an order on hold is left out, and that is said", "[read][orders]") {
    const std::string folder = std::string(COATROOM_SOURCE) + "/scenarios/first-day/";
    std::map<std::string, std::string> files;
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv"}) {
        std::ifstream in(folder + name, std::ios::binary);
        files[name] = std::string(std::istreambuf_iterator<char>(in), {});
    }
    std::string& orders = files["orders.csv"];
    const auto put = [&](const std::string& before, const std::string& after) {
        const std::size_t at = orders.find(before);
        REQUIRE(at != std::string::npos);
        orders.replace(at, before.size(), after);
    };
    // As a spreadsheet writes it: the new column stands in every line.
    std::string with_column;
    std::istringstream in(orders);
    for (std::string line; std::getline(in, line);)
        with_column += line + (line.starts_with("#")         ? "\n"
                               : line.starts_with("order,")  ? ",hold\n"
                               : line.starts_with("P1,conc") ? ",yes\n"
                                                             : ",\n");
    orders = with_column;
    Diagnostics diagnostics;
    const auto read = read_scenario(files, "shop", diagnostics);
    REQUIRE(read);
    CHECK(read->orders.size() == 2);
    CHECK(std::none_of(read->orders.begin(), read->orders.end(),
                       [](const Order& o) { return o.name == "P1"; }));
    REQUIRE(diagnostics.all().size() == 1);
    CHECK(to_text(diagnostics.all()[0]) ==
          "shop/orders.csv:8:1: warning: on hold, so left out of everything: P1. Take `hold` away "
          "to plan them. (on-hold)");
    // Its other line says otherwise.
    put("P1,,,1,77-55,58 x 84 cm,photopolymer B,1+1,\n",
        "P1,,,1,77-55,58 x 84 cm,photopolymer B,1+1,no\n");
    Diagnostics two;
    CHECK_FALSE(read_scenario(files, "shop", two));
    CHECK(two.all()[0].code == "order-disagrees");
}

TEST_CASE("a mesh may be asked for by its count", "[read][orders]") {
    namespace fs = std::filesystem;
    const fs::path folder =
        fs::temp_directory_path() / ("coatroom-mesh-" + std::to_string(getpid()));
    const auto mesh_of = [&](const std::string& asked) -> std::string {
        fs::remove_all(folder);
        fs::copy(std::string(COATROOM_SOURCE) + "/scenarios/first-day", folder);
        std::ofstream(folder / "orders.csv")
            << "order,due,count,mesh,frame,emulsion,coat plan\n"
            << "T1,2026-11-26 11:30,1," << asked << ",58 x 84 cm,photopolymer B,1+1\n";
        Diagnostics diagnostics;
        const auto read = read_scenario(folder.string(), diagnostics);
        fs::remove_all(folder);
        if (!read) return diagnostics.all().front().code;
        return *read->orders.front().lines.front().mesh;
    };
    CHECK(mesh_of("77-55") == "77-55");
    CHECK(mesh_of("77 /cm") == "77-55");
    CHECK(mesh_of("305 /in") == "120-34");  // 120 /cm are 304.8 /in
    CHECK(mesh_of("90 /cm") == "unknown-mesh");
    CHECK(mesh_of("77") == "unknown-mesh");
}

TEST_CASE("every step has one word, and the word leads back", "[read][steps]") {
    for (int i = 0; i < step_count; ++i) {
        const Step step = static_cast<Step>(i);
        REQUIRE_FALSE(words_of(step).empty());
        CHECK(step_of(words_of(step)) == step);
        CHECK(steps_of(words_of(step)).front() == step);
    }
    CHECK(steps_of("mix") == std::vector<Step>{Step::MixDissolve, Step::MixStir});
    CHECK(steps_of("strip") == std::vector<Step>{Step::Strip, Step::Rinse});
    CHECK_FALSE(step_of("mix"));
    CHECK(steps_of("print").empty());
}
