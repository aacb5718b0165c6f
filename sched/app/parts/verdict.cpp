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

void print_no_plan(const compile::RoomProblem& room, const core::Solution& solution) {
    if (solution.status == core::Status::Infeasible) {
        std::fprintf(stderr,
                     "coatroom plan: no plan exists for %s: the room's limits and the orders "
                     "contradict each other.\n",
                     room.problem.name.c_str());
        return;
    }
    std::fprintf(stderr,
                 "coatroom plan: no plan was found for %s within the budget. Give it more time "
                 "(--budget), more people, or fewer orders.\n",
                 room.problem.name.c_str());
}

}  // namespace sched::app
