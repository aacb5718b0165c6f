// What somebody else may hand in as a plan file: always diagnostics, never a crash.

#include <nlohmann/json.hpp>

#include "sched/report/document/plan_json.hpp"
#include "sched/report/document/problem_json.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

namespace {

using Json = nlohmann::ordered_json;

bool refused(const std::string& text) {
    model::Diagnostics diagnostics;
    const bool problem = sched::report::problem_of(text, diagnostics).has_value();
    if (problem) return false;
    if (!diagnostics.has_errors()) return false;
    model::Diagnostics again;
    return !sched::report::plan_from_json(text, again).has_value() && again.has_errors();
}

Json sound() {
    return Json::parse(sched::report::plan_to_json(fixture::document()));
}

}  // namespace

TEST_CASE("texts that are no plan are refused") {
    CHECK_FALSE(refused(sound().dump()));
    CHECK(refused(""));
    CHECK(refused("null"));
    CHECK(refused("[]"));
    CHECK(refused("{}"));
    CHECK(refused("{\"problem\":"));
    CHECK(refused("{\"problem\":[],\"schedule\":{}}"));
    CHECK(refused(std::string(100'000, '[')));
    CHECK(refused("\xff\xfe{}"));
    CHECK(refused(std::string("{\"a\0b\":1}", 9)));
    std::string members = "{";
    for (int i = 0; i < 1000; ++i)
        members += "\"k" + std::to_string(i) + "\":0,";
    CHECK(refused(members + "\"z\":0}"));
}

TEST_CASE("numbers and ids out of range are refused") {
    const auto broken = [](auto change) {
        Json j = sound();
        change(j);
        return refused(j.dump());
    };
    CHECK(broken([](Json& j) { j["format"] = 99; }) ==
          false);  // problem_of reads it, plan_from_json does not
    CHECK(broken([](Json& j) { j["problem"]["end"] = 1e300; }));
    CHECK(broken([](Json& j) { j["problem"]["end"] = UINT64_MAX; }));
    CHECK(broken([](Json& j) { j["problem"]["start"] = "yesterday"; }));
    CHECK(broken([](Json& j) { j["problem"]["resources"][0]["capacity"] = 0; }));
    CHECK(broken([](Json& j) { j["problem"]["operations"][0]["job"] = 77; }));
    CHECK(broken([](Json& j) { j["problem"]["operations"][0]["modes"] = Json::array(); }));
    CHECK(broken([](Json& j) { j["problem"]["operations"][0]["modes"][0]["needs"][0][0] = {-1}; }));
    CHECK(
        broken([](Json& j) { j["problem"]["operations"][0]["modes"][0]["needs"][0][2] = "half"; }));
    CHECK(broken(
        [](Json& j) { j["problem"]["constraints"][0] = {"lag", 0, "end", 4000, 0, nullptr}; }));
    CHECK(broken([](Json& j) { j["problem"]["constraints"][0] = {"lag"}; }));
    CHECK(broken([](Json& j) { j["problem"]["constraints"][0] = {"wish", 1}; }));
    CHECK(broken([](Json& j) { j["problem"]["objective"] = {"fame"}; }));
    CHECK(broken([](Json& j) { j["schedule"].erase(3); }));
    CHECK(broken([](Json& j) { j["schedule"][0][3] = 5; }));
    CHECK(broken([](Json& j) { j["schedule"][0][4] = {1000}; }));
    CHECK(broken([](Json& j) { j["schedule"][0][4] = Json::array(); }));
    CHECK(broken([](Json& j) { j["schedule"][10][5] = Json::array(); }));
    CHECK(broken([](Json& j) { j["schedule"][0][1] = -5; }));
    CHECK(broken([](Json& j) { j["schedule"][0] = "x"; }));
}

TEST_CASE("a document with ill-typed lines is refused, its problem may still be checked") {
    const auto broken = [](auto change) {
        Json j = sound();
        change(j);
        model::Diagnostics diagnostics;
        return !sched::report::plan_from_json(j.dump(), diagnostics) && diagnostics.has_errors();
    };
    CHECK(broken([](Json& j) { j["format"] = 99; }));
    CHECK(broken([](Json& j) { j["orders"][0]["ready"] = 12; }));
    CHECK(broken([](Json& j) { j["operations"].erase(2); }));
    CHECK(broken([](Json& j) { j["mixes"][0]["operations"] = {9999}; }));
    CHECK(broken([](Json& j) { j["run"]["seed"] = -1; }));
    CHECK(broken([](Json& j) { j["people"] = Json::object(); }));
    CHECK(broken([](Json& j) { j.erase("aims"); }));
    CHECK_FALSE(broken([](Json& j) { j["a_later_member"] = 1; }));
}

TEST_CASE("a spoilt year makes no pages without end") {
    // One byte of a date: the printed day of a plan, a page for each four hours in which somebody
    // works, had millions of them.
    const Json plan = sound();
    std::size_t attended = 0;
    while (plan["operations"][attended]["people"].empty())
        ++attended;
    const auto told = [&](const char* member, const char* time) {
        Json j = plan;
        j["operations"][attended][member] = time;
        model::Diagnostics diagnostics;
        if (sched::report::plan_from_json(j.dump(), diagnostics)) return std::string();
        REQUIRE(diagnostics.error_count() > 0);
        return diagnostics.all().front().message;
    };
    const std::string year = plan["run"]["first_start"].get<std::string>().substr(0, 4);
    const std::string rest = plan["run"]["first_start"].get<std::string>().substr(4);
    const auto later = [&](int years) { return std::to_string(std::stoi(year) + years) + rest; };
    for (const char* member : {"start", "work_end", "end", "place_until", "people_until"}) {
        INFO(member);
        CHECK(told(member, later(1500).c_str()).find("ten years") != std::string::npos);
    }
    CHECK(told("people_until", later(1).c_str()).find("hundred days") != std::string::npos);
    Json run = plan;
    run["run"]["last_end"] = later(1500);
    model::Diagnostics diagnostics;
    CHECK_FALSE(sched::report::plan_from_json(run.dump(), diagnostics));
    CHECK(diagnostics.all().front().message.find("run.last_end") != std::string::npos);
}

TEST_CASE("a plan cut anywhere is refused") {
    const std::string text = sched::report::plan_to_json(fixture::document());
    for (std::size_t cut = 0; cut + 2 < text.size(); cut += 997)
        CHECK(refused(text.substr(0, cut)));
}
