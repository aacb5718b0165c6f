#pragma once
// Who is asked for the answers of the books: the judge about every schedule.

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "tests/catch.hpp"
#include "tests/oracle/brute_force.hpp"

namespace oracle {

using Parts = std::vector<std::int64_t>;

/// Right by the judge, and worth this much.
inline void is_worth(const Problem& problem, const std::optional<Schedule>& schedule,
                     const Parts& parts) {
    REQUIRE(validate(problem).empty());
    REQUIRE(schedule);
    for (const auto& v : sched::check::check(problem, *schedule))
        FAIL_CHECK(v.words);
    CHECK(evaluate(problem, *schedule).parts == parts);
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
