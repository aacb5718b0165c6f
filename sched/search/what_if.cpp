#include "sched/search/what_if.hpp"

#include <algorithm>

#include "sched/core/objective.hpp"
#include "sched/search/explain.hpp"
#include "sched/search/floor_search.hpp"

namespace sched::search {

namespace {

bool is_chosen_among_others(const core::Problem& problem, core::ResourceId resource) {
    for (const auto& o : problem.operations) {
        for (const auto& mode : o.modes) {
            for (const auto& need : mode.needs) {
                if (need.any_of.size() > 1 && std::find(need.any_of.begin(), need.any_of.end(),
                                                        resource) != need.any_of.end())
                    return true;
            }
        }
    }
    return false;
}

// Waited for longest, first.
std::vector<core::ResourceId> scarce(const core::Problem& problem, const core::Schedule& schedule) {
    auto uses = resource_use(problem, schedule);
    std::erase_if(uses, [](const ResourceUse& u) {
        return u.waited_for.count() <= 0 && u.on_late_chains == 0;
    });
    std::stable_sort(uses.begin(), uses.end(), [](const ResourceUse& a, const ResourceUse& b) {
        return a.on_late_chains != b.on_late_chains ? a.on_late_chains > b.on_late_chains
                                                    : a.waited_for > b.waited_for;
    });
    std::vector<core::ResourceId> found;
    for (const auto& u : uses)
        found.push_back(u.resource);
    return found;
}

struct Tries {
    core::Value best, worst;
    std::optional<core::Schedule> schedule;
};

// `known`: a schedule that this problem also has, besides `from`.
Tries plan_again(const core::Problem& problem, const core::Schedule& from,
                 const core::Schedule& known, const WhatIfOptions& how, const Budget& each) {
    Tries tries;
    const engine::CompiledProblem compiled(problem);
    FloorGuide guide;
    guide.rules = false;
    guide.first = {sequence_of(compiled, from, true), sequence_of(compiled, from, false)};
    for (int k = 0; k < std::max(1, how.seeds); ++k) {
        SearchOptions options;
        options.budget = each;
        options.seed = how.seed + static_cast<std::uint64_t>(k);
        options.threads = how.threads;
        options.stop = how.stop;
        const auto s = search_floor(problem, options, guide);
        core::Value value = core::evaluate(problem, known);
        const bool better = s.schedule && s.value < value;
        if (better) value = s.value;
        if (k == 0 || value < tries.best) {
            tries.best = value;
            tries.schedule = better ? *s.schedule : known;
        }
        if (k == 0 || tries.worst < value) tries.worst = value;
    }
    return tries;
}

// What one try of one change may cost.
Budget share_of(const WhatIfOptions& how, std::size_t problems) {
    const auto tries = static_cast<std::int64_t>(problems) * std::max(1, how.seeds);
    Budget each;
    if (how.total.evaluations)
        each.evaluations = std::max<std::int64_t>(2, *how.total.evaluations / tries);
    if (how.total.seconds) each.seconds = *how.total.seconds / static_cast<double>(tries);
    if (!each.evaluations && !each.seconds)
        each.evaluations = std::max<std::int64_t>(2, how.evaluations);
    return each;
}

}  // namespace

core::Problem with_one_more(const core::Problem& problem, core::ResourceId resource) {
    core::Problem p = problem;
    if (!is_chosen_among_others(problem, resource)) {
        ++p.resources[resource.index()].capacity;
        return p;
    }
    core::Resource copy = p.resources[resource.index()];
    copy.name = "another " + copy.name;
    p.resources.push_back(std::move(copy));
    const core::ResourceId added{p.resources.size() - 1};
    for (auto& o : p.operations) {
        for (auto& mode : o.modes) {
            for (auto& need : mode.needs) {
                if (std::find(need.any_of.begin(), need.any_of.end(), resource) !=
                    need.any_of.end())
                    need.any_of.push_back(added);
            }
        }
    }
    return p;
}

core::Problem with_longer_hours(const core::Problem& problem, core::ResourceId resource,
                                core::Seconds by) {
    core::Problem p = problem;
    auto& calendar = p.resources[resource.index()].calendar;
    if (!calendar) return p;
    // The last window of a day is the one after which the resource is away for long.
    constexpr core::Seconds night{4 * 3600};
    for (std::size_t w = 0; w < calendar->size(); ++w) {
        auto& window = (*calendar)[w];
        const bool last = w + 1 == calendar->size();
        if (last)
            window.to += by;
        else if ((*calendar)[w + 1].from - window.to > std::max(night, by))
            window.to += by;
    }
    return p;
}

std::vector<WhatIf> what_ifs(const core::Problem& problem, const core::Solution& solution,
                             const WhatIfOptions& how) {
    std::vector<WhatIf> found;
    if (!solution.schedule) return found;
    const auto candidates = scarce(problem, *solution.schedule);
    if (candidates.empty()) return found;
    struct Trial {
        core::ResourceId resource;
        WhatIf::Kind kind;
        core::Problem problem;
    };
    std::vector<Trial> trials;
    for (std::size_t k = 0; k < candidates.size() && static_cast<int>(k) < how.most; ++k) {
        const core::ResourceId r = candidates[k];
        trials.push_back({r, WhatIf::Kind::OneMore, with_one_more(problem, r)});
        const auto& calendar = problem.resources[r.index()].calendar;
        if (calendar && !calendar->empty())
            trials.push_back({r, WhatIf::Kind::Longer, with_longer_hours(problem, r, how.hour)});
    }
    const Budget each = share_of(how, trials.size() + 1);
    const Tries base = plan_again(problem, *solution.schedule, *solution.schedule, how, each);
    for (const Trial& trial : trials) {
        if (how.stop && how.stop()) break;
        const Tries with = plan_again(trial.problem, *solution.schedule, *base.schedule, how, each);
        WhatIf w{
            .resource = trial.resource, .kind = trial.kind, .value = with.best, .base = base.best};
        for (std::size_t k = 0; k < base.best.parts.size(); ++k)
            w.saved.push_back(base.best.parts[k] - with.best.parts[k]);
        w.certain = with.worst < base.best;
        const auto next = scarce(trial.problem, *with.schedule);
        if (!next.empty()) w.next = next.front();
        found.push_back(std::move(w));
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const WhatIf& a, const WhatIf& b) { return a.value < b.value; });
    return found;
}

}  // namespace sched::search
