#pragma once
// Who is asked for the answers of the books: the checker about every schedule.

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/exact/exact.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/oracle/brute_force.hpp"

namespace oracle {

using Parts = std::vector<std::int64_t>;

/// Right by the checker, and worth this much.
inline void is_worth(const Problem& problem, const std::optional<Schedule>& schedule,
                     const Parts& parts) {
    REQUIRE(validate(problem).empty());
    REQUIRE(schedule);
    for (const auto& v : sched::check::check(problem, *schedule))
        FAIL_CHECK(v.words);
    CHECK(evaluate(problem, *schedule).parts == parts);
}

/// The best that trying everything found is worth this much, the exact search proves the same, and
/// no search goes below it or claims a bound above it.
inline void optimum_is(const Problem& problem, const Optimum& brute, const Parts& parts) {
    is_worth(problem, brute.schedule, parts);
    sched::search::SearchOptions options;
    options.budget.evaluations = 200'000;

    std::string why;
    const bool supported = sched::search::exact_supports(problem, &why);
    INFO(why);
    REQUIRE(supported);
    const Solution exact = sched::search::solve_exact(problem, options);
    CHECK(exact.status == Status::Optimal);
    is_worth(problem, exact.schedule, parts);
    CHECK(exact.value.parts == parts);

    options.budget.evaluations = 2'000;
    const Solution found = sched::search::solve(problem, options);
    if (found.schedule) {
        for (const auto& v : sched::check::check(problem, *found.schedule))
            FAIL_CHECK(v.words);
        CHECK(evaluate(problem, *found.schedule) == found.value);
        CHECK(found.value.parts >= parts);
    }
    for (const auto& bound : {exact.bound.parts, found.bound.parts}) {
        if (!bound.empty()) CHECK(bound[0] <= parts[0]);
    }
}

inline std::vector<std::int64_t> starts(const Schedule& s) {
    std::vector<std::int64_t> all;
    for (const auto& p : s.placements)
        all.push_back(number(p.start));
    return all;
}

inline std::vector<std::int64_t> ends(const Schedule& s) {
    std::vector<std::int64_t> all;
    for (const auto& p : s.placements)
        all.push_back(number(p.end));
    return all;
}

}  // namespace oracle
