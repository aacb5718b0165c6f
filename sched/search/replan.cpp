#include "sched/search/replan.hpp"

#include <algorithm>
#include <cstdlib>
#include <map>

#include "sched/core/objective.hpp"
#include "sched/search/floor_search.hpp"
#include "sched/search/restrict.hpp"

namespace sched::search {

namespace {

using core::OperationId;
using core::Placement;

// The k-th of a name.
template <class List>
std::map<std::pair<std::string, int>, std::size_t> by_name(const List& list) {
    std::map<std::string, int> seen;
    std::map<std::pair<std::string, int>, std::size_t> found;
    for (std::size_t i = 0; i < list.size(); ++i)
        found[{list[i].name, seen[list[i].name]++}] = i;
    return found;
}

// Index in `to` per element of `from`; none: it is gone.
template <class List>
std::vector<std::optional<std::size_t>> way(const List& from, const List& to) {
    const auto target = by_name(to);
    std::map<std::string, int> seen;
    std::vector<std::optional<std::size_t>> result;
    for (const auto& x : from) {
        const auto it = target.find({x.name, seen[x.name]++});
        result.push_back(it == target.end() ? std::nullopt : std::optional(it->second));
    }
    return result;
}

bool holds(const core::Problem& problem, std::size_t operation, const Placement& p) {
    const auto& modes = problem.operations[operation].modes;
    if (p.mode < 0 || static_cast<std::size_t>(p.mode) >= modes.size()) return false;
    const auto& needs = modes[static_cast<std::size_t>(p.mode)].needs;
    if (needs.size() != p.chosen.size()) return false;
    for (std::size_t k = 0; k < needs.size(); ++k) {
        if (std::find(needs[k].any_of.begin(), needs[k].any_of.end(), p.chosen[k]) ==
            needs[k].any_of.end())
            return false;
    }
    return true;
}

constexpr std::int64_t kLook = 40;  // schedules tried before a frozen window is given up

bool moved(const Placement& before, const Placement& now, core::Seconds tolerance) {
    return std::abs((now.start - before.start).count()) > tolerance.count() ||
           before.mode != now.mode || before.chosen != now.chosen;
}

// Changes go after what is promised (tardiness, late orders, overtime), never first.
std::size_t place_of_changes(const core::Problem& problem) {
    for (std::size_t k = 0; k < problem.objective.size(); ++k) {
        switch (problem.objective[k]) {
            case core::Criterion::WeightedTardiness:
            case core::Criterion::LateOrders:
            case core::Criterion::Overtime:
                break;
            case core::Criterion::Makespan:
            case core::Criterion::Holding:
            case core::Criterion::FlowTime:
                return std::max<std::size_t>(k, 1);
        }
    }
    return problem.objective.size();
}

// The problem with everything held that began before `until`; what else there is starts at or after
// `now`.
core::Problem hold(const core::Problem& problem, const EarlierPlan& earlier, core::SimTime now,
                   core::SimTime until) {
    core::Problem p = problem;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const OperationId id{i};
        if (earlier[i] && earlier[i]->start < until) {
            fix_choice(p, id, *earlier[i]);
            p.constraints.push_back(core::StartWindow{id, earlier[i]->start, earlier[i]->start});
        } else {
            p.constraints.push_back(core::StartWindow{id, now, std::nullopt});
        }
    }
    return p;
}

}  // namespace

EarlierPlan earlier_plan(const core::Schedule& schedule) {
    return {schedule.placements.begin(), schedule.placements.end()};
}

EarlierPlan match_by_name(const core::Problem& old_problem, const core::Schedule& schedule,
                          const core::Problem& problem) {
    const auto operation = way(old_problem.operations, problem.operations);
    const auto resource = way(old_problem.resources, problem.resources);
    const auto store = way(old_problem.stores, problem.stores);
    EarlierPlan plan(problem.operations.size());
    for (std::size_t i = 0; i < operation.size(); ++i) {
        if (!operation[i]) continue;
        Placement p = schedule.placements[i];
        bool complete = true;
        for (auto& r : p.chosen) {
            complete = complete && resource[r.index()];
            if (complete) r = core::ResourceId{*resource[r.index()]};
        }
        for (auto& s : p.stores) {
            complete = complete && store[s.index()];
            if (complete) s = core::StoreId{*store[s.index()]};
        }
        if (complete && holds(problem, *operation[i], p)) plan[*operation[i]] = std::move(p);
    }
    return plan;
}

std::vector<Change> changes_between(const EarlierPlan& earlier, const core::Schedule& schedule,
                                    core::Seconds tolerance) {
    std::vector<Change> changes;
    for (std::size_t i = 0; i < earlier.size(); ++i) {
        if (!earlier[i] || !moved(*earlier[i], schedule.placements[i], tolerance)) continue;
        changes.push_back({OperationId{i}, earlier[i]->start, schedule.placements[i].start,
                           earlier[i]->chosen, schedule.placements[i].chosen});
    }
    std::stable_sort(changes.begin(), changes.end(),
                     [](const Change& a, const Change& b) { return a.new_start < b.new_start; });
    return changes;
}

Replan replan(const core::Problem& problem, const EarlierPlan& earlier, const ReplanOptions& how,
              const SearchOptions& options) {
    Replan result;
    std::vector<core::SimTime> window;  // planned starts inside the frozen window
    for (const auto& p : earlier) {
        if (!p) continue;
        if (p->start < how.now)
            ++result.begun;
        else if (p->start < how.now + how.frozen)
            window.push_back(p->start);
    }
    std::sort(window.begin(), window.end());

    // The longest part of the window, by halves, for which a schedule is found at all.
    std::size_t keep = window.size();
    while (true) {
        const core::SimTime until = keep == 0 ? how.now
                                    : keep == window.size()
                                        ? how.now + how.frozen
                                        : window[keep];  // what starts there is let go
        result.fixed = hold(problem, earlier, how.now, until);
        const engine::CompiledProblem compiled(result.fixed);
        core::Schedule old;  // as far as it is known; the rest after it
        old.placements.resize(problem.operations.size());
        for (std::size_t i = 0; i < earlier.size(); ++i) {
            Placement& p = old.placements[i];
            if (earlier[i]) {
                p = *earlier[i];
                continue;
            }
            p.start = p.work_end = p.end = problem.horizon_end;
            for (const auto& need : problem.operations[i].modes.front().needs)
                p.chosen.push_back(need.any_of.front());
        }
        FloorGuide guide;
        guide.first = {sequence_of(compiled, old, true), sequence_of(compiled, old, false)};
        for (auto& s : guide.first) {
            for (std::size_t i = 0; i < earlier.size(); ++i) {
                if (earlier[i]) continue;
                s.mode[i] = -1;
                s.delay[i] = 0;
            }
        }
        guide.place = place_of_changes(problem);
        guide.count = [&](const engine::FlatSchedule& f) {
            std::int64_t count = 0;
            for (std::size_t i = 0; i < earlier.size(); ++i) {
                if (!earlier[i]) continue;
                const Placement& p = *earlier[i];
                bool changed = f.mode[i] != p.mode ||
                               std::abs(f.start[i] - p.start.time_since_epoch().count()) >
                                   how.tolerance.count();
                const auto chosen = static_cast<std::size_t>(compiled.operations[i].chosen);
                for (std::size_t k = 0; k < p.chosen.size() && !changed; ++k)
                    changed = f.chosen[chosen + k] != p.chosen[k].value;
                count += changed ? 1 : 0;
            }
            return count;
        };
        if (keep > 0) {  // a look whether it can be held, before the budget is spent on it
            SearchOptions look = options;
            look.budget = {.evaluations = kLook};
            look.progress = nullptr;
            if (!search_floor(result.fixed, look, guide).schedule) {
                keep /= 2;
                continue;
            }
        }
        result.solution = search_floor(result.fixed, options, guide);
        result.frozen = static_cast<int>(std::count_if(window.begin(), window.end(),
                                                       [&](core::SimTime t) { return t < until; }));
        break;
    }
    const bool all_known =
        std::all_of(earlier.begin(), earlier.end(), [](const auto& p) { return p.has_value(); });
    if (!result.solution.schedule && all_known) {
        core::Schedule same;
        for (const auto& p : earlier)
            same.placements.push_back(*p);
        result.solution.schedule = std::move(same);
        result.solution.status = core::Status::Feasible;
    }
    result.let_go = static_cast<int>(window.size()) - result.frozen;
    if (!result.solution.schedule) return result;
    result.solution.value = core::evaluate(problem, *result.solution.schedule);
    result.changes = changes_between(earlier, *result.solution.schedule, how.tolerance);
    return result;
}

}  // namespace sched::search
