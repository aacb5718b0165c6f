#pragma once
// Short ways to write the smallest problems and schedules.

#include <algorithm>
#include <string>
#include <vector>

#include "sched/check/checker.hpp"

namespace check_tests {

using namespace sched::core;
using sched::check::Rule;
using sched::check::Violation;

inline SimTime at(std::int64_t seconds) {
    return SimTime{Seconds{seconds}};
}

inline Need need(std::initializer_list<int> resources, Span span = Span::Whole, int amount = 1) {
    Need n{.amount = amount, .span = span};
    for (const int r : resources)
        n.any_of.push_back(ResourceId{r});
    return n;
}

/// A problem from 0 to 100000 s that grows by resources and operations.
struct Case {
    Problem problem;
    Schedule schedule;

    Case() { problem.horizon_end = at(100000); }

    int resource(const std::string& name, int capacity = 1) {
        problem.resources.push_back({.name = name, .capacity = capacity});
        return static_cast<int>(problem.resources.size()) - 1;
    }
    Resource& last_resource() { return problem.resources.back(); }

    /// An operation of one mode, placed at `start`; chosen = first of each any_of.
    OperationId operation(std::int64_t work, std::vector<Need> needs, std::int64_t start) {
        const OperationId id{problem.operations.size()};
        Placement p{.start = at(start), .work_end = at(start + work), .end = at(start + work)};
        for (const auto& n : needs)
            p.chosen.push_back(n.any_of.front());
        problem.operations.push_back(
            {.name = "op" + std::to_string(id.value),
             .modes = {{.work = Seconds{work}, .needs = std::move(needs)}}});
        schedule.placements.push_back(p);
        return id;
    }
    Operation& operation(OperationId id) { return problem.operations[id.index()]; }
    Placement& placed(OperationId id) { return schedule.placements[id.index()]; }

    void move(OperationId id, std::int64_t by) {
        auto& p = placed(id);
        p.start += Seconds{by};
        p.work_end += Seconds{by};
        p.end += Seconds{by};
    }

    std::vector<Violation> found() const { return sched::check::check(problem, schedule); }
    /// The rules broken, each once, in order.
    std::vector<Rule> rules() const {
        std::vector<Rule> r;
        for (const auto& v : found()) {
            if (r.empty() || r.back() != v.rule) r.push_back(v.rule);
        }
        return r;
    }
    bool sound() const { return validate(problem).empty(); }
};

using Rules = std::vector<Rule>;

}  // namespace check_tests
