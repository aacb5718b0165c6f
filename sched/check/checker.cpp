#include "sched/check/checker.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/check/case.hpp"

namespace sched::check {

std::vector<Violation> check(const core::Problem& problem, const core::Schedule& schedule) {
    Case c{.problem = problem, .schedule = schedule};
    if (schedule.placements.size() != problem.operations.size()) {
        c.found.push_back(
            {.rule = Rule::Count,
             .words = fmt::format("{} operations, but {} of them placed", problem.operations.size(),
                                  schedule.placements.size())});
        return c.found;
    }
    check_begun(c);
    check_shape(c);
    check_length(c);
    check_capacity(c);
    check_calendars(c);
    check_walks(c);
    check_pauses(c);
    check_constraints(c);
    check_orders(c);
    check_stores(c);
    check_batches(c);
    std::stable_sort(c.found.begin(), c.found.end(),
                     [](const Violation& a, const Violation& b) { return a.rule < b.rule; });
    return c.found;
}

std::string words(Rule rule) {
    switch (rule) {
        case Rule::Count:
            return "number of operations";
        case Rule::Mode:
            return "mode";
        case Rule::Choice:
            return "choice of resource or store";
        case Rule::Distinct:
            return "different resources for different needs";
        case Rule::Times:
            return "order of start and end";
        case Rule::WorkLength:
            return "length of the work";
        case Rule::Drying:
            return "drying";
        case Rule::Stretch:
            return "longest holding";
        case Rule::Capacity:
            return "capacity";
        case Rule::Calendar:
            return "calendar";
        case Rule::Pause:
            return "break";
        case Rule::TimeLag:
            return "minimum or maximum lag";
        case Rule::StartWindow:
            return "start window";
        case Rule::Release:
            return "release";
        case Rule::Deadline:
            return "deadline";
        case Rule::SameMode:
            return "same mode";
        case Rule::SameResource:
            return "same resource";
        case Rule::Walk:
            return "walk";
        case Rule::Store:
            return "store";
        case Rule::Batch:
            return "batch";
        case Rule::Horizon:
            return "horizon";
        case Rule::Begun:
            return "work that has begun";
    }
    return {};
}

}  // namespace sched::check
