#include "sched/search/room/stands.hpp"

#include <algorithm>

namespace sched::search {

namespace {

using core::Problem;

bool attended(const core::Operation& o) {
    return std::any_of(o.modes.begin(), o.modes.end(), [](const core::Mode& m) {
        return std::any_of(m.needs.begin(), m.needs.end(),
                           [](const core::Need& n) { return n.span == core::Span::Work; });
    });
}

/// The one need of each mode that lasts as long as the operation, at the same number in all;
/// empty: there is none such.
std::vector<int> places(const core::Operation& o) {
    std::vector<int> out;
    for (const core::Mode& m : o.modes) {
        int place = -1;
        for (std::size_t k = 0; k < m.needs.size(); ++k) {
            if (m.needs[k].span != core::Span::Whole) continue;
            if (place >= 0) return {};
            place = static_cast<int>(k);
        }
        if (place < 0 || (!out.empty() && place != out.front())) return {};
        out.push_back(place);
    }
    return out;
}

bool share_a_place(const core::Operation& a, const core::Operation& b) {
    const auto uses = [](const core::Operation& o, core::ResourceId r) {
        return std::any_of(o.modes.begin(), o.modes.end(), [&](const core::Mode& m) {
            return std::any_of(m.needs.begin(), m.needs.end(), [&](const core::Need& n) {
                return n.span == core::Span::Whole &&
                       std::find(n.any_of.begin(), n.any_of.end(), r) != n.any_of.end();
            });
        });
    };
    for (const core::Mode& m : a.modes) {
        for (const core::Need& n : m.needs) {
            if (n.span != core::Span::Whole) continue;
            for (const auto r : n.any_of) {
                if (uses(b, r)) return true;
            }
        }
    }
    return false;
}

bool may_stand(const Problem& p, const core::TimeLag& lag) {
    const core::Operation& from = p.operations[lag.from.index()];
    const bool hands_over =
        lag.edge == core::Edge::End && lag.min.count() == 0 && lag.max && lag.max->count() == 0;
    return hands_over && !from.max_stretch && !from.batch && attended(from) &&
           !places(from).empty() && !share_a_place(from, p.operations[lag.to.index()]);
}

}  // namespace

std::optional<StandsProblem> with_stands(const Problem& problem) {
    StandsProblem out{problem, {}};
    Problem& p = out.problem;
    std::vector<core::OperationId> stand(problem.operations.size(), core::OperationId::none());
    for (const auto& c : problem.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (!lag || !may_stand(problem, *lag) || stand[lag->from.index()].valid()) continue;
        const core::Operation& from = problem.operations[lag->from.index()];
        const std::vector<int> place = places(from);
        core::Operation o{.name = "stand after " + from.name, .job = from.job};
        o.max_stretch = std::nullopt;
        o.filler = from.filler;
        for (std::size_t m = 0; m < from.modes.size(); ++m)
            o.modes.push_back({.needs = {from.modes[m].needs[static_cast<std::size_t>(place[m])]}});
        const core::OperationId id{p.operations.size()};
        stand[lag->from.index()] = id;
        out.stands.emplace_back(lag->from.index(), id.index());
        p.operations.push_back(std::move(o));
        p.operations[lag->from.index()].max_stretch = core::Seconds{0};
    }
    if (out.stands.empty()) return std::nullopt;
    // What waits for the end of the work now waits for the end of the standing.
    for (auto& c : p.constraints) {
        auto* lag = std::get_if<core::TimeLag>(&c);
        if (lag && lag->edge == core::Edge::End && stand[lag->from.index()].valid())
            lag->from = stand[lag->from.index()];
    }
    for (const auto& [worked, stood] : out.stands) {
        const core::OperationId a{worked}, b{stood};
        p.constraints.push_back(core::TimeLag{.from = a, .to = b, .max = core::Seconds{0}});
        const core::Operation& o = p.operations[worked];
        if (o.modes.size() > 1) p.constraints.push_back(core::SameMode{a, b});
        const std::vector<int> place = places(o);
        p.constraints.push_back(
            core::SameResource{.a = a, .need_a = place.front(), .b = b, .need_b = 0});
    }
    return out;
}

core::Schedule without_stands(const StandsProblem& stands, const core::Schedule& schedule) {
    core::Schedule out = schedule;
    for (const auto& [worked, stood] : stands.stands)
        out.placements[worked].end = schedule.placements[stood].end;
    out.placements.resize(schedule.placements.size() - stands.stands.size());
    return out;
}

}  // namespace sched::search
