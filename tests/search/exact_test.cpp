#include "sched/search/exact.hpp"

#include <string>

#include "sched/check/checker.hpp"
#include "sched/compile/instance_lags.hpp"
#include "sched/core/objective.hpp"
#include "tests/catch.hpp"

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

// The worked example of the ProGen/max layout: activity 1 lasts 4, activity 2 lasts 3 and starts 1 to 2
// after activity 1.
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
