#include "sched/search/exact/exact.hpp"

#include <fstream>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "tests/catch.hpp"
#include "tests/classes/instance_lags.hpp"

using namespace sched;

namespace {

core::Solution prove(const core::Problem& p, std::int64_t conflicts = 20000) {
    REQUIRE(core::validate(p).empty());
    search::SearchOptions options;
    options.budget.evaluations = conflicts;
    core::Solution s = search::solve_exact(p, options);
    if (s.schedule) {
        const auto wrong = check::check(p, *s.schedule);
        INFO((wrong.empty() ? std::string{} : wrong[0].words));
        CHECK(wrong.empty());
        CHECK(core::evaluate(p, *s.schedule) == s.value);
    }
    return s;
}

core::Problem project_max(const std::string& text) {
    model::Diagnostics d;
    const auto p = compile::read_project_max(text, "example.sch", d);
    REQUIRE(p);
    return *p;
}

// The worked example of the ProGen/max layout: activity 1 lasts 4, activity 2 lasts 3 and starts 1
// to 2 after activity 1.
std::string two_activities(int capacity) {
    return "2 1 0 0\n0 1 2 1 2 [0] [0]\n1 1 2 3 2 [4] [1]\n2 1 2 3 1 [3] [-2]\n3 1 0\n"
           "0 1 0 0\n1 1 4 1\n2 1 3 1\n3 1 0 0\n" +
           std::to_string(capacity) + "\n";
}

}  // namespace

TEST_CASE("two overlapping activities with a maximum lag finish at 4", "[exact][max-lag]") {
    const auto s = prove(project_max(two_activities(2)));
    CHECK(s.status == core::Status::Optimal);
    CHECK(s.value.parts == std::vector<std::int64_t>{4});
    CHECK(s.bound.parts == std::vector<std::int64_t>{4});
}

TEST_CASE("the same activities on one unit are proved impossible", "[exact][max-lag]") {
    const auto s = prove(project_max(two_activities(1)));
    CHECK(s.status == core::Status::Infeasible);
    CHECK_FALSE(s.schedule);
}

namespace {

/// Known bounds of an instance file; no numbers: infeasible.
struct KnownExact {
    std::string name;
    std::optional<std::int64_t> first;
    std::optional<std::int64_t> second;
};

std::string benchmark_text(const std::string& path) {
    std::ifstream in(std::string(COATROOM_TEST_DATA) + "/data/benchmarks/" + path,
                     std::ios::binary);
    REQUIRE(in);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

std::vector<KnownExact> known_values(const std::string& path) {
    std::istringstream lines(benchmark_text(path));
    std::vector<KnownExact> all;
    std::string line;
    std::getline(lines, line);
    while (std::getline(lines, line)) {
        std::istringstream cells(line);
        KnownExact k;
        std::string a;
        std::string b;
        std::getline(cells, k.name, ',');
        std::getline(cells, a, ',');
        std::getline(cells, b, ',');
        if (a != "infeasible") {
            k.first = std::stoll(a);
            k.second = std::stoll(b);
        }
        all.push_back(k);
    }
    return all;
}

}  // namespace

TEST_CASE("projects with maximum lags reach their published optima", "[exact][benchmark]") {
    // Source: tests/data/benchmarks/rcpsp-max/NOTICE.md
    const auto known = known_values("rcpsp-max/best-known.csv");
    REQUIRE(known.size() == 12);
    int infeasible = 0;
    for (const auto& k : known) {
        INFO(k.name);
        model::Diagnostics d;
        const auto p =
            compile::read_project_max(benchmark_text("rcpsp-max/" + k.name + ".sch"), k.name, d);
        REQUIRE(p);
        const auto s = prove(*p, 20000);
        if (!k.first) {
            CHECK(s.status == core::Status::Infeasible);
            ++infeasible;
            continue;
        }
        CHECK(search::lower_bounds(*p).parts[0] <= *k.second);
        CHECK(s.status == core::Status::Optimal);
        CHECK(s.value.parts == std::vector<std::int64_t>{*k.second});
    }
    CHECK(infeasible == 3);
}

TEST_CASE("small rooms reach the optima that two other solvers proved", "[exact][benchmark]") {
    // Source: tests/data/benchmarks/room/NOTICE.md; minutes there, seconds here.
    const auto known = known_values("room/best-known.csv");
    REQUIRE(known.size() == 4);
    for (const auto& k : known) {
        INFO(k.name);
        model::Diagnostics d;
        const auto p =
            compile::read_small_room(benchmark_text("room/" + k.name + ".json"), k.name, d);
        REQUIRE(p);
        const auto bound = search::lower_bounds(*p);
        CHECK(bound.parts[0] <= *k.first * 60);
        CHECK(bound.parts[1] <= *k.second * 60);
        const auto s = prove(*p, 100000);
        CHECK(s.status == core::Status::Optimal);
        CHECK(s.value.parts == std::vector<std::int64_t>{*k.first * 60, *k.second * 60});
    }
}

TEST_CASE("the same budget in evaluations gives the same schedule", "[exact]") {
    model::Diagnostics d;
    const auto p = compile::read_project_max(benchmark_text("rcpsp-max/ubo20_psp11.sch"), "x", d);
    REQUIRE(p);
    const auto a = prove(*p, 40);
    const auto b = prove(*p, 40);
    CHECK(a.status == b.status);
    CHECK(a.schedule == b.schedule);
    CHECK(a.evaluations == b.evaluations);
}

TEST_CASE("a schedule at hand is kept when nothing better turns up", "[exact]") {
    const auto p = project_max(two_activities(2));
    const auto best = prove(p);
    REQUIRE(best.schedule);
    search::SearchOptions options;
    options.stop = [] { return true; };  // no time at all
    const auto s = search::solve_exact(p, options, &*best.schedule);
    CHECK(s.schedule == best.schedule);
    CHECK(s.value == best.value);
}

TEST_CASE("an interrupt ends the search with the best so far", "[exact]") {
    model::Diagnostics d;
    const auto p = compile::read_project_max(benchmark_text("rcpsp-max/j30_psp44.sch"), "x", d);
    REQUIRE(p);
    int asked = 0;
    search::SearchOptions options;
    options.stop = [&asked] { return ++asked > 2; };
    const auto s = search::solve_exact(*p, options);
    CHECK(s.interrupted);
    CHECK((s.status == core::Status::Feasible || s.status == core::Status::Unknown));
}

TEST_CASE("what the exact solver does not model it says", "[exact]") {
    core::Problem p = project_max(two_activities(2));
    CHECK(search::exact_supports(p));
    std::string why;
    core::Problem drying = p;
    drying.resources[0].shared = core::SharedRate{{{.from = {}}}};
    CHECK_FALSE(search::exact_supports(drying, &why));
    CHECK(why == "drying clock of resource 1");
    core::Problem store = p;
    store.stores.push_back({.name = "pot", .initial = 5});
    store.constraints.push_back(core::Take{core::OperationId{1}, {core::StoreId{0}}, 2});
    CHECK_FALSE(search::exact_supports(store, &why));
    CHECK(why == "stores");
    const auto s = search::solve_exact(store, {});
    CHECK(s.status == core::Status::Unknown);
    CHECK(s.bound.parts == std::vector<std::int64_t>{4});  // activity 1 alone lasts 4
}

TEST_CASE("each demand outside the exact model alone makes a problem unsupported", "[exact]") {
    const core::Problem plain = project_max(two_activities(2));
    REQUIRE(search::exact_supports(plain));
    const core::OperationId one{1};
    const auto unsupported = [&](auto change, const std::string& word) {
        core::Problem p = plain;
        change(p);
        std::string why;
        INFO(word);
        CHECK_FALSE(search::exact_supports(p, &why));
        CHECK(why.find(word) != std::string::npos);
        CHECK(search::solve_exact(p, {}).status == core::Status::Unknown);
    };
    unsupported([](auto& p) { p.resources[0].batch = core::BatchArea{500, 500, 0, 2}; }, "batches");
    unsupported([](auto& p) { p.now = p.horizon_start; }, "begun");
    unsupported([&](auto& p) { p.begun.push_back({.operation = one}); }, "begun");
    unsupported([](auto& p) { p.operations[1].filler = true; }, "later run");
    unsupported([](auto& p) { p.operations[1].modes[0].stages.push_back({1.0, 0.5}); }, "drying");
    unsupported(
        [&](auto& p) {
            p.stores.push_back({.name = "pot"});
            p.constraints.push_back(core::Give{one, core::StoreId{0}, 2});
        },
        "stores");
    unsupported(
        [](auto& p) {
            p.operations[1].pausable = true;
            p.resources[0].calendar = core::Calendar{{p.horizon_start, p.horizon_end}};
        },
        "pauses");
    unsupported(
        [](auto& p) {
            p.objective = {core::Criterion::Overtime};
            p.overtime.push_back({core::ResourceId{0}, {p.horizon_start, p.horizon_end}});
        },
        "overtime");
    // And each kind of constraint that is in the model is allowed.
    core::Problem all = plain;
    all.constraints.push_back(core::StartWindow{one, all.horizon_start, all.horizon_end});
    all.constraints.push_back(core::SameMode{one, core::OperationId{2}});
    all.constraints.push_back(core::SameResource{one, 0, core::OperationId{2}, 0});
    REQUIRE(core::validate(all).empty());
    CHECK(search::exact_supports(all));
}
