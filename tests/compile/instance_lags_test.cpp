#include "tests/classes/instance_lags.hpp"

#include <string>

#include "tests/catch.hpp"

using namespace sched;

namespace {

const std::string kTwoActivities =
    "2 1 0 0\n0 1 2 1 2 [0] [0]\n1 1 2 3 2 [4] [1]\n2 1 2 3 1 [3] [-2]\n3 1 0\n"
    "0 1 0 0\n1 1 4 1\n2 1 3 1\n3 1 0 0\n2\n";

struct Complaint {
    std::string code;
    int line = 0;
    int column = 0;
};

Complaint complaint_of(const std::string& text, bool room = false) {
    model::Diagnostics d;
    const auto p =
        room ? compile::read_small_room(text, "f", d) : compile::read_project_max(text, "f", d);
    CHECK_FALSE(p);
    REQUIRE(d.all().size() == 1);
    return {d.all()[0].code, d.all()[0].place.line, d.all()[0].place.column};
}

std::string replaced(std::string text, const std::string& what, const std::string& with) {
    const auto at = text.find(what);
    REQUIRE(at != std::string::npos);
    return text.replace(at, what.size(), with);
}

const std::string kOneScreen =
    R"({"horizon": 60, "capacity": {"booth": 1, "person": 1},
 "steps": [{"name": "degrease", "place": "booth", "min": 5, "max": 7, "persons": 1, "lag_min": 0, "lag_max": null},
           {"name": "inspect", "place": null, "min": 2, "max": 2, "persons": 1}],
 "orders": [{"release": 3, "due": 9, "weight": 2}], "screens": [{"order": 0, "coats": 1, "expose": 4}]})";

}  // namespace

TEST_CASE("a project with maximum lags is read as its format says", "[instance]") {
    model::Diagnostics d;
    const auto p = compile::read_project_max(kTwoActivities, "f", d);
    REQUIRE(p);
    CHECK(core::validate(*p).empty());
    CHECK(p->operations.size() == 4);
    CHECK(p->constraints.size() == 6);
    CHECK(p->operations[1].modes[0].work == core::Seconds{4});
    CHECK(p->resources[0].capacity == 2);
    CHECK(p->horizon_end == core::SimTime{core::Seconds{7}});
    const auto& back = std::get<core::TimeLag>(p->constraints[5]);
    CHECK(back.from == core::OperationId{2});
    CHECK(back.to == core::OperationId{1});
    CHECK(back.edge == core::Edge::Start);
    CHECK(back.min == core::Seconds{-2});
    CHECK_FALSE(back.max);
}

TEST_CASE("a broken project file is refused with its place", "[instance]") {
    const auto check = [](const std::string& text, const std::string& code, int line, int column) {
        const Complaint c = complaint_of(text);
        CHECK(c.code == code);
        CHECK(c.line == line);
        CHECK(c.column == column);
    };
    check(replaced(kTwoActivities, "[-2]", "-2"), "no-bracket", 4, 15);
    check(replaced(kTwoActivities, "[-2]", "[x]"), "not-an-integer", 4, 15);
    check(replaced(kTwoActivities, "1 1 4 1\n", "1 1 4 3\n"), "demand-above-capacity", 10, 1);
    check(replaced(kTwoActivities, "2 1 2 3 1", "2 1 2 7 1"), "too-large", 4, 7);
    check(replaced(kTwoActivities, "3 1 0 0\n2\n", "3 1 0 0\n"), "file-ends-early", 10, 1);
    check(kTwoActivities + "9\n", "more-than-expected", 11, 1);
    check(replaced(kTwoActivities, "2 1 0 0", "2 1 1 0"), "too-large", 1, 5);
    check(replaced(kTwoActivities, "2 1 0 0", "99999999999999999999 1 0 0"), "not-an-integer", 1,
          1);
    check("", "file-ends-early", 1, 1);
    model::Diagnostics d;
    CHECK_FALSE(compile::read_project_max(kTwoActivities, "f", d, {.bytes = 10}));
    CHECK(d.all()[0].code == "too-large");
}

TEST_CASE("a small room is read as its format says", "[instance]") {
    model::Diagnostics d;
    const auto p = compile::read_small_room(kOneScreen, "f", d);
    REQUIRE(p);
    CHECK(core::validate(*p).empty());
    REQUIRE(p->operations.size() == 2);
    CHECK(p->operations[0].modes[0].work == model::minutes(5));
    CHECK(p->operations[0].max_stretch == model::minutes(2));
    CHECK(p->operations[1].modes[0].needs.size() == 1);
    CHECK(p->orders[0].release == core::SimTime{model::minutes(3)});
    CHECK_FALSE(std::get<core::TimeLag>(p->constraints[0]).max);
    CHECK(p->objective ==
          std::vector{core::Criterion::WeightedTardiness, core::Criterion::Makespan});
}

TEST_CASE("a broken small room is refused", "[instance]") {
    CHECK(complaint_of(replaced(kOneScreen, "\"booth\": 1", "\"sink\": 1"), true).code ==
          "unknown-place");
    CHECK(complaint_of(replaced(kOneScreen, "\"max\": 7", "\"max\": 3"), true).code == "too-small");
    CHECK(complaint_of(replaced(kOneScreen, "\"order\": 0", "\"order\": 1"), true).code ==
          "unknown-order");
    CHECK(complaint_of(replaced(kOneScreen, "\"weight\": 2", "\"weigth\": 2"), true).code ==
          "missing-key");
    CHECK(complaint_of(replaced(kOneScreen, "\"due\": 9", "\"due\": 9.5"), true).code ==
          "not-an-integer");
    CHECK(complaint_of(replaced(kOneScreen, "\"due\": 9", "\"due\": 99999999999"), true).code ==
          "not-an-integer");
    CHECK(complaint_of("[]", true).code == "not-an-object");
    const Complaint cut = complaint_of("{\"horizon\": 60,\n \"capacity\" 3}", true);
    CHECK(cut.code == "not-json");
    CHECK(cut.line == 2);
    CHECK(cut.column == 13);
    CHECK(complaint_of(std::string(200, '[') + std::string(200, ']'), true).code == "too-deep");
}
