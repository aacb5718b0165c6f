#include "sched/app/parts/verdict.hpp"

#include <cstdio>

#include "sched/check/checker.hpp"

namespace sched::app {

bool passes(const core::Problem& problem, const core::Schedule& schedule) {
    const auto violations = check::check(problem, schedule);
    for (const auto& v : violations) {
        std::fprintf(stderr, "broken rule [%s]: %s\n", check::words(v.rule).c_str(),
                     v.words.c_str());
    }
    return violations.empty();
}

}  // namespace sched::app
