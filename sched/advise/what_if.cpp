// How it works: each change is made in the Problem, the search plans it again from the plan at
// hand, and the plan at hand is planned again with the same effort for the comparison. Half of the
// effort of a try goes into the orders that are late, the others held where they are.

#include "sched/advise/what_if.hpp"

#include <algorithm>
#include <chrono>

#include "sched/advise/chains.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/room/room_search.hpp"

namespace sched::search {

namespace {

// Who is needed while the work lasts is somebody, who walks and minds a batch; the rest are places.
bool is_somebody(const core::Problem& problem, core::ResourceId resource) {
    for (const auto& o : problem.operations) {
        for (const auto& mode : o.modes) {
            for (const auto& need : mode.needs) {
                if (need.span == core::Span::Work &&
                    std::find(need.any_of.begin(), need.any_of.end(), resource) !=
                        need.any_of.end())
                    return true;
            }
        }
    }
    return false;
}

// Waited for longest, first.
std::vector<core::ResourceId> scarce(const core::Problem& problem, const core::Schedule& schedule) {
    auto uses = resource_waits(problem, schedule);
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
    std::int64_t evaluations = 0;
};

core::Seconds lateness(const core::Problem& problem, std::size_t order,
                       const std::vector<std::optional<core::SimTime>>& done) {
    const auto& due = problem.orders[order].due;
    if (!due || !done[order]) return core::Seconds{0};
    return std::max(core::Seconds{0}, *done[order] - *due);
}

// Nothing but late orders (else the one that ends last) may begin before it does in `from`: what is
// well where it is stays out of the way, and a few schedules show what those orders gain.
core::Problem others_held(const core::Problem& problem, const core::Schedule& from) {
    core::Problem held = problem;
    const auto done = core::completions(problem, from);
    std::vector<char> free(problem.orders.size(), 0);
    std::size_t last = 0;
    bool any = false;
    for (std::size_t o = 0; o < done.size(); ++o) {
        free[o] = lateness(problem, o, done).count() > 0 ? 1 : 0;
        any = any || free[o] != 0;
        if (done[o] && (!done[last] || *done[o] > *done[last])) last = o;
    }
    if (!any && !free.empty()) free[last] = 1;
    std::vector<char> begun(problem.operations.size(), 0);
    for (const core::Begun& b : problem.begun)
        begun[b.operation.index()] = 1;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const auto job = problem.operations[i].job;
        const auto order = job.valid() ? problem.jobs[job.index()].order : core::OrderId::none();
        if (begun[i] || (order.valid() && free[order.index()])) continue;
        held.constraints.push_back(core::StartWindow{.operation = core::OperationId{i},
                                                     .not_before = from.placements[i].start});
    }
    return held;
}

// The better of two searches, each at half the cost: of the whole problem, and with the others
// held. `holds`: `from` is a schedule of both.
core::Solution search_both(const core::Problem& problem, const core::Problem& held,
                           const core::Schedule& from, bool holds, SearchOptions options) {
    if (options.budget.evaluations)
        options.budget.evaluations = std::max<std::int64_t>(1, *options.budget.evaluations / 2);
    if (options.budget.seconds) options.budget.seconds = *options.budget.seconds / 2;
    core::Solution best;
    for (const core::Problem* p : {&problem, &held}) {
        const engine::CompiledProblem compiled(*p);
        RoomGuide guide;
        guide.rules = false;
        guide.known = holds ? &from : nullptr;
        guide.bounds = false;  // a few schedules: they would take most of the time
        guide.first = {sequence_of(compiled, from, true), sequence_of(compiled, from, false)};
        auto s = search_room(*p, options, guide);
        const std::int64_t so_far = best.evaluations + s.evaluations;
        if (s.schedule && (!best.schedule || s.value < best.value)) best = std::move(s);
        best.evaluations = so_far;
    }
    return best;
}

// `known`: a schedule that this problem also has, besides `from`; null: it need not.
Tries plan_again(const core::Problem& problem, const core::Schedule& from,
                 const core::Schedule* known, const WhatIfOptions& how, const Budget& each) {
    Tries tries;
    const core::Problem held = others_held(problem, from);
    for (int k = 0; k < std::max(1, how.seeds); ++k) {
        SearchOptions options;
        options.budget = each;
        options.seed = how.seed + static_cast<std::uint64_t>(k);
        options.threads = how.threads;
        options.stop = how.stop;
        const auto s = search_both(problem, held, from, known != nullptr, options);
        tries.evaluations += s.evaluations;
        if (!s.schedule && !known) continue;
        core::Value value = known ? core::evaluate(problem, *known) : s.value;
        const bool better = s.schedule && (!known || s.value < value);
        if (better) value = s.value;
        if (!tries.schedule || value < tries.best) {
            tries.best = value;
            tries.schedule = better ? *s.schedule : *known;
        }
        if (tries.worst.parts.empty() || tries.worst < value) tries.worst = value;
    }
    return tries;
}

constexpr double most_over = 1.5;  // times the seconds: what a try costs besides its schedules

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

// Orders that are more or less late in `with` than in `without`.
std::vector<WhatIf::Change> changes_of(const core::Problem& problem, const core::Schedule& without,
                                       const core::Problem& changed, const core::Schedule& with) {
    const auto before = core::completions(problem, without);
    const auto after = core::completions(changed, with);
    std::vector<WhatIf::Change> found;
    for (std::size_t o = 0; o < problem.orders.size(); ++o) {
        const core::Seconds less = lateness(problem, o, before) - lateness(problem, o, after);
        if (less != core::Seconds{0}) found.push_back({core::OrderId{o}, less});
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const auto& a, const auto& b) { return a.less > b.less; });
    return found;
}

}  // namespace

std::vector<Turn> turns_to_exchange(const core::Problem& problem, const core::Schedule& schedule,
                                    int most) {
    const auto done = core::completions(problem, schedule);
    std::vector<std::size_t> late;
    for (std::size_t o = 0; o < problem.orders.size(); ++o) {
        if (lateness(problem, o, done).count() > 0) late.push_back(o);
    }
    std::stable_sort(late.begin(), late.end(), [&](std::size_t a, std::size_t b) {
        return problem.orders[a].weight * lateness(problem, a, done).count() >
               problem.orders[b].weight * lateness(problem, b, done).count();
    });
    const auto order_of = [&](core::OperationId op) {
        const auto job = problem.operations[op.index()].job;
        return job.valid() ? problem.jobs[job.index()].order : core::OrderId::none();
    };
    std::vector<Turn> found;
    if (most == 0) return found;
    const Chains chains(problem, schedule);
    for (const std::size_t o : late) {
        if (static_cast<int>(found.size()) >= most) break;
        const core::OrderId mine{o};
        std::optional<ChainLink> longest;
        for (const ChainLink& link : chains.of(mine)) {
            if (link.cause != Cause::Resource || !link.because) continue;
            const core::OrderId other = order_of(*link.because);
            if (order_of(link.operation) != mine || !other.valid() || other == mine) continue;
            if (!longest || link.waited > longest->waited) longest = link;
        }
        if (longest) found.push_back({longest->operation, *longest->because});
    }
    return found;
}

core::Problem with_turn(const core::Problem& problem, const Turn& turn) {
    core::Problem p = problem;
    p.constraints.push_back(
        core::TimeLag{.from = turn.first, .edge = core::Edge::Start, .to = turn.second});
    return p;
}

core::Problem with_one_more(const core::Problem& problem, core::ResourceId resource) {
    core::Problem p = problem;
    if (!is_somebody(problem, resource)) {
        ++p.resources[resource.index()].capacity;
        return p;
    }
    core::Resource copy = p.resources[resource.index()];
    copy.name = "another " + copy.name;
    p.resources.push_back(std::move(copy));
    const core::ResourceId added{p.resources.size() - 1};
    // Whoever may stay longer does so in overtime, the copy too.
    for (const core::OvertimeWindow& o : problem.overtime) {
        if (o.resource == resource) p.overtime.push_back({added, o.window});
    }
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

std::vector<core::Window> closings(const core::Problem& problem, core::ResourceId resource) {
    std::vector<core::Window> found;
    const auto& calendar = problem.resources[resource.index()].calendar;
    if (!calendar || is_somebody(problem, resource)) return found;
    const core::SimTime since = problem.now.value_or(problem.horizon_start);
    for (std::size_t w = 0; w + 1 < calendar->size(); ++w) {
        const core::Window gap{(*calendar)[w].to, (*calendar)[w + 1].from};
        if (gap.to > since) found.push_back(gap);
    }
    return found;
}

core::Problem with_longer_hours(const core::Problem& problem, core::ResourceId resource,
                                core::Seconds by) {
    core::Problem p = problem;
    auto& calendar = p.resources[resource.index()].calendar;
    if (!calendar) return p;
    if (!is_somebody(problem, resource)) {
        // A place is open day and night but for its closings.
        for (const core::Window& gap : closings(problem, resource)) {
            const auto after =
                std::find_if(calendar->begin(), calendar->end(),
                             [&](const core::Window& w) { return w.from == gap.to; });
            std::prev(after)->to = after->to;
            calendar->erase(after);
        }
        return p;
    }
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

core::Problem with_change(const core::Problem& problem, const WhatIf& what_if, core::Seconds hour) {
    if (what_if.kind == WhatIf::Kind::OneMore) return with_one_more(problem, what_if.resource);
    if (what_if.kind == WhatIf::Kind::Longer)
        return with_longer_hours(problem, what_if.resource, hour);
    return problem;
}

WhatIfOptions quick_look(std::int64_t evaluations) {
    WhatIfOptions how;
    how.turns = 0;
    how.longer = false;
    // Two seeds for each of (most + 1) problems.
    how.evaluations = std::clamp<std::int64_t>(evaluations / (20 * (how.most + 1)), 3, 60);
    return how;
}

WhatIfs what_ifs(const core::Problem& problem, const core::Solution& solution,
                 const WhatIfOptions& how, const std::vector<OtherProblem>& others) {
    if (!solution.schedule) return {};
    struct Trial {
        WhatIf what;
        core::Problem problem;
        bool holds = true;
    };
    std::vector<Trial> trials;
    const auto candidates = scarce(problem, *solution.schedule);
    for (std::size_t k = 0; k < candidates.size() && static_cast<int>(k) < how.most; ++k) {
        const core::ResourceId r = candidates[k];
        trials.push_back(
            {{.resource = r, .kind = WhatIf::Kind::OneMore}, with_one_more(problem, r)});
        const auto& calendar = problem.resources[r.index()].calendar;
        if (how.longer && calendar && !calendar->empty() && is_somebody(problem, r))
            trials.push_back({{.resource = r, .kind = WhatIf::Kind::Longer},
                              with_longer_hours(problem, r, how.hour)});
    }
    // Nobody is seen to wait for a place that is shut: those who would are elsewhere meanwhile.
    int shut = 0;
    for (std::size_t r = 0; r < problem.resources.size(); ++r) {
        const core::ResourceId place{r};
        if (!closings(problem, place).empty() && shut++ < how.most)
            trials.push_back({{.resource = place, .kind = WhatIf::Kind::Longer},
                              with_longer_hours(problem, place, how.hour)});
    }
    for (const Turn& turn : turns_to_exchange(problem, *solution.schedule, how.turns)) {
        trials.push_back(
            {{.kind = WhatIf::Kind::Before, .first = turn.first, .second = turn.second},
             with_turn(problem, turn),
             false});
    }
    for (std::size_t k = 0; k < others.size(); ++k) {
        trials.push_back(
            {{.kind = WhatIf::Kind::Other, .other = k}, others[k].problem, others[k].holds});
    }
    if (trials.empty()) return {};
    const Budget each = share_of(how, trials.size() + 1);
    const auto began = std::chrono::steady_clock::now();
    const auto another_fits = [&](std::size_t tried) {
        if (tried == 0) return true;
        const std::chrono::duration<double> used = std::chrono::steady_clock::now() - began;
        if (how.most_seconds && used.count() >= *how.most_seconds) return false;
        if (!how.total.seconds) return true;
        const double each_took = used.count() / static_cast<double>(tried + 1);
        return used.count() + each_took <= most_over * *how.total.seconds;
    };
    const Tries base = plan_again(problem, *solution.schedule, &*solution.schedule, how, each);
    WhatIfs found{.changes = {}, .left_out = trials.size()};
    for (Trial& trial : trials) {
        if ((how.stop && how.stop()) || !another_fits(trials.size() - found.left_out)) break;
        --found.left_out;
        const Tries with = plan_again(trial.problem, *solution.schedule,
                                      trial.holds ? &*base.schedule : nullptr, how, each);
        if (!with.schedule) continue;
        WhatIf& w = trial.what;
        w.value = with.best;
        w.base = base.best;
        for (std::size_t k = 0; k < base.best.parts.size(); ++k)
            w.saved.push_back(base.best.parts[k] - with.best.parts[k]);
        w.certain = with.worst < base.best;
        // A search that ended sooner was through with all that it knows.
        w.schedules =
            std::max(with.evaluations, each.evaluations.value_or(0) * std::max(1, how.seeds));
        w.orders = changes_of(problem, *base.schedule, trial.problem, *with.schedule);
        const auto next = scarce(trial.problem, *with.schedule);
        if (!next.empty()) w.next = next.front();
        w.schedule = *with.schedule;
        found.changes.push_back(std::move(w));
    }
    std::stable_sort(found.changes.begin(), found.changes.end(),
                     [](const WhatIf& a, const WhatIf& b) { return a.value < b.value; });
    return found;
}

void measure_against(const core::Problem& problem, const core::Value& base,
                     std::vector<WhatIf>& what_ifs) {
    // Of these two a plan that simulated days chose may have more than it need have; when it ends
    // is its own.
    const auto of_lateness = [&](std::size_t k) {
        return k < problem.objective.size() &&
               (problem.objective[k] == core::Criterion::WeightedTardiness ||
                problem.objective[k] == core::Criterion::LateOrders);
    };
    for (WhatIf& w : what_ifs) {
        if (!(base < w.base) || base.parts.size() != w.base.parts.size()) continue;
        const auto differs =
            std::mismatch(base.parts.begin(), base.parts.end(), w.base.parts.begin());
        if (!of_lateness(static_cast<std::size_t>(differs.first - base.parts.begin()))) continue;
        w.base = base;
        w.certain = w.certain && w.value < base;
        w.saved.clear();
        for (std::size_t k = 0; k < base.parts.size(); ++k)
            w.saved.push_back(base.parts[k] - w.value.parts[k]);
        w.orders.clear();
    }
}

}  // namespace sched::search
