#include "sched/compile/hands.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <variant>
#include <vector>

#include "model/room/steps.hpp"

namespace sched::compile {

namespace {

using core::Need;
using core::Operation;
using core::OperationId;
using core::ResourceId;
using core::Span;

// The first need for a person, the same in every mode; nullopt: nobody attends in one of them.
std::optional<std::size_t> attendant(const Operation& operation) {
    std::optional<std::size_t> at;
    for (const core::Mode& mode : operation.modes) {
        const auto need = std::find_if(mode.needs.begin(), mode.needs.end(),
                                       [](const Need& n) { return n.span == Span::Work; });
        const auto n = static_cast<std::size_t>(need - mode.needs.begin());
        if (need == mode.needs.end() || (at && *at != n)) return std::nullopt;
        at = n;
    }
    return at;
}

std::set<ResourceId> who_can(const Operation& operation, std::size_t need) {
    std::set<ResourceId> out;
    for (const core::Mode& mode : operation.modes)
        out.insert(mode.needs[need].any_of.begin(), mode.needs[need].any_of.end());
    return out;
}

void only(Operation& operation, std::size_t need, const std::set<ResourceId>& people) {
    for (core::Mode& mode : operation.modes) {
        auto& list = mode.needs[need].any_of;
        const auto others = [&](ResourceId r) { return people.count(r) == 0; };
        // A way in which none of them does it stays, and cannot be taken.
        if (!std::all_of(list.begin(), list.end(), others)) std::erase_if(list, others);
    }
}

}  // namespace

void tie_hands(Builder& b, const model::route::Route& route, std::size_t first) {
    auto& operations = b.out.problem.operations;
    std::optional<std::size_t> before;  // in the route: the last operation that somebody attends
    for (std::size_t i = 0; i < route.operations.size(); ++i) {
        Operation& here = operations[first + i];
        const auto need = attendant(here);
        if (!need) continue;
        const auto last = before;
        before = i;
        if (!last || !model::row_of(route.operations[i].step).same_hands) continue;
        Operation& prior = operations[first + *last];
        const std::size_t prior_need = *attendant(prior);
        const std::set<ResourceId> can = who_can(here, *need), could = who_can(prior, prior_need);
        std::set<ResourceId> both;
        std::set_intersection(can.begin(), can.end(), could.begin(), could.end(),
                              std::inserter(both, both.end()));
        if (both.empty()) continue;
        only(here, *need, both);
        only(prior, prior_need, both);
        b.out.problem.constraints.push_back(
            core::SameResource{.a = OperationId{first + *last},
                               .need_a = static_cast<int>(prior_need),
                               .b = OperationId{first + i},
                               .need_b = static_cast<int>(*need)});
    }
}

void loosen_hands(core::Problem& problem) {
    std::set<OperationId> begun;
    for (const core::Begun& b : problem.begun)
        begun.insert(b.operation);
    std::erase_if(problem.constraints, [&](const core::Constraint& c) {
        const auto* same = std::get_if<core::SameResource>(&c);
        if (same == nullptr || begun.count(same->a) + begun.count(same->b) == 0) return false;
        const auto& mode = problem.operations[same->a.index()].modes.front();
        const auto n = static_cast<std::size_t>(same->need_a);
        return n < mode.needs.size() && mode.needs[n].span == Span::Work;
    });
}

}  // namespace sched::compile
