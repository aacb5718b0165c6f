// "Limits the day" is said of what saves something when there is more of it, and of nothing else.

#include <algorithm>

#include "sched/report/plan/what_if_lines.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched;
using report::PlanDocument;

namespace {

/// One more of resource `r`, with these savings per criterion of the fixture's objective.
search::WhatIf one_more(int r, std::int64_t first, std::int64_t rest, bool certain = true) {
    search::WhatIf w;
    w.resource = core::ResourceId{r};
    const auto room = fixture::room();
    const auto& objective = room.problem.objective;
    for (std::size_t k = 0; k < objective.size(); ++k)
        w.saved.push_back(k == 0 ? first : objective[k] == core::Criterion::Makespan ? rest : 0);
    w.certain = certain;
    return w;
}

PlanDocument said(const std::vector<search::WhatIf>& tried) {
    PlanDocument d = fixture::document();
    report::add_limit(fixture::room(), tried, d);
    return d;
}

}  // namespace

TEST_CASE("what saves lateness limits the day, not what is waited for", "[limit]") {
    const auto room = fixture::room();
    REQUIRE(room.problem.objective.front() == core::Criterion::WeightedTardiness);
    const auto name = [&](int r) {
        return room.problem.resources[static_cast<std::size_t>(r)].name;
    };
    // Waited for longest, tried first, saves nothing.
    auto d = said({one_more(2, 600, 0), one_more(0, 0, 0)});
    CHECK(d.bottleneck.resource == name(2));
    CHECK(d.bottleneck.sentences[1].find("saves 10 min of lateness") != std::string::npos);

    d = said({one_more(0, 0, 0), one_more(2, 0, 0)});
    CHECK(d.bottleneck.resource.empty());
    CHECK(d.bottleneck.sentences[0].rfind("Nothing limits the day: planned again with", 0) == 0);
    CHECK(d.bottleneck.sentences[0].find(name(0)) != std::string::npos);
    CHECK(d.bottleneck.sentences[0].find(name(2)) != std::string::npos);

    CHECK(said({}).bottleneck.sentences[0] ==
          "Nothing limits the day: no step waits because a place or a person is taken.");
}

TEST_CASE("a try that luck may have won, or under a minute, limits nothing", "[limit]") {
    CHECK(said({one_more(2, 600, 0, false)}).bottleneck.resource.empty());
    CHECK(said({one_more(2, 59, 0)}).bottleneck.resource.empty());
    // An earlier finish paid for with lateness is none.
    CHECK(said({one_more(2, -60, 3600)}).bottleneck.resource.empty());
    const auto room = fixture::room();
    const auto& aims = room.problem.objective;
    if (std::count(aims.begin(), aims.end(), core::Criterion::Makespan) > 0) {
        const auto d = said({one_more(2, 0, 1800)});
        CHECK_FALSE(d.bottleneck.resource.empty());
        CHECK(d.bottleneck.sentences[1].find("the run ends 30 min sooner") != std::string::npos);
    }
}
