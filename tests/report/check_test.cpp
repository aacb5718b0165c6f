// A plan file can be judged by itself: what problem_of reads passes or fails the independent
// checker.

#include <algorithm>

#include "sched/check/checker.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/document/problem_json.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched;

TEST_CASE("the judge reads a plan file alone: a sound one passes, a touched one does not") {
    model::Diagnostics diagnostics;
    const auto sound = report::problem_of(report::plan_to_json(fixture::document()), diagnostics);
    REQUIRE(sound);
    for (const auto& x : check::check(sound->first, sound->second))
        UNSCOPED_INFO(x.words);
    CHECK(check::check(sound->first, sound->second).empty());

    report::PlanDocument d = fixture::document();
    d.schedule.placements[7].start +=
        model::minutes(4);  // the rinse begins after the remover's limit
    d.schedule.placements[7].work_end += model::minutes(4);
    d.schedule.placements[7].end += model::minutes(4);
    const auto touched = report::problem_of(report::plan_to_json(d), diagnostics);
    REQUIRE(touched);
    const auto found = check::check(touched->first, touched->second);
    const auto lag = [](const check::Violation& v) { return v.rule == check::Rule::TimeLag; };
    CHECK(std::any_of(found.begin(), found.end(), lag));
    CHECK_FALSE(report::contradictions(d).empty());
}
