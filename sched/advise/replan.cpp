// How it works: earlier placements are found again by name; what has begun becomes facts of the
// problem, what begins within the frozen window gets a fixed start: as much of the window as there
// is a schedule for that costs the first aim little (halved while there is none). The room search
// then starts from the earlier order of work and counts, beside the aims, the operations that
// differ.

#include "sched/advise/replan.hpp"

#include <algorithm>
#include <cstdlib>
#include <map>

#include "sched/advise/restrict.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/search/room/room_search.hpp"

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

// The order in which two people stand in the list of a mode is nothing that the two would notice,
// nor is the number of the mode.
bool moved(const Placement& before, const Placement& now, core::Seconds tolerance) {
    return std::abs((now.start - before.start).count()) > tolerance.count() ||
           !std::is_permutation(before.chosen.begin(), before.chosen.end(), now.chosen.begin(),
                                now.chosen.end());
}

}  // namespace

// Changes go after what is promised (tardiness, late orders, overtime), never first.
std::size_t place_of_changes(const core::Problem& problem) {
    for (std::size_t k = 0; k < problem.objective.size(); ++k) {
        if (!core::row_of(problem.objective[k]).promised) return std::max<std::size_t>(k, 1);
    }
    return problem.objective.size();
}

namespace {

// Its people and places are there for all of the planned time; a fixed start asks nobody's hours.
bool staffed(const core::Problem& problem, std::size_t operation, const Placement& p) {
    const core::Operation& o = problem.operations[operation];
    const auto& needs = o.modes[static_cast<std::size_t>(p.mode)].needs;
    for (std::size_t k = 0; k < needs.size(); ++k) {
        const auto& calendar = problem.resources[p.chosen[k].index()].calendar;
        if (!calendar) continue;
        const core::SimTime until = o.pausable                          ? p.start + core::Seconds{1}
                                    : needs[k].span == core::Span::Work ? p.work_end
                                                                        : p.end;
        const bool there =
            until <= p.start || std::any_of(calendar->begin(), calendar->end(), [&](const auto& w) {
                return w.from <= p.start && until <= w.to;
            });
        if (!there) return false;
    }
    return true;
}

// Not before, by operation: a film or frame that comes later than it was said to.
std::vector<core::SimTime> may_start(const core::Problem& problem) {
    std::vector<core::SimTime> from(problem.operations.size(), core::SimTime::min());
    for (const auto& c : problem.constraints) {
        const auto* w = std::get_if<core::StartWindow>(&c);
        if (w && w->not_before)
            from[w->operation.index()] = std::max(from[w->operation.index()], *w->not_before);
    }
    return from;
}

// What it may cost in the first aim that nobody is moved about at once: of lateness as much as the
// window is long, for the order that weighs most; no further late order.
std::int64_t worth_of_holding(const core::Problem& problem, core::Seconds frozen) {
    if (problem.objective.empty() || core::row_of(problem.objective.front()).in_orders) return 0;
    std::int64_t weight = 1;
    for (const auto& order : problem.orders)
        weight = std::max<std::int64_t>(weight, order.weight);
    return weight * frozen.count();
}

// The old plan as far as it is known; the rest after it.
core::Schedule known_part(const core::Problem& problem, const EarlierPlan& earlier) {
    core::Schedule old;
    for (std::size_t i = 0; i < earlier.size(); ++i) {
        if (earlier[i]) {
            old.placements.push_back(*earlier[i]);
            continue;
        }
        Placement p{.start = problem.horizon_end,
                    .work_end = problem.horizon_end,
                    .end = problem.horizon_end};
        for (const auto& need : problem.operations[i].modes.front().needs)
            p.chosen.push_back(need.any_of.front());
        old.placements.push_back(std::move(p));
    }
    for (const core::Begun& b : problem.begun) {
        Placement& p = old.placements[b.operation.index()];
        p.start = b.start;
        p.mode = b.mode;
        p.chosen = b.chosen;
    }
    return old;
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

namespace {

/// Its work took, or will take, what the posted plan says, which may be more than its mode
/// does.
bool ends_as_told(const core::Operation& o, const Placement& p, core::SimTime now) {
    const core::Mode& mode = o.modes[static_cast<std::size_t>(p.mode)];
    if (!mode.stages.empty()) return false;
    return p.work_end <= now || (!o.pausable && p.start + mode.work <= now);
}

}  // namespace

std::vector<core::Begun> begun_by(const core::Problem& problem, const EarlierPlan& earlier,
                                  core::SimTime now) {
    const auto has_begun = [&](OperationId id) {
        return earlier[id.index()] && earlier[id.index()]->start < now;
    };
    std::vector<char> stays(earlier.size(), 0);  // until its follower takes over
    for (const auto& c : problem.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (lag && lag->edge == core::Edge::End && lag->max == core::Seconds{0} &&
            has_begun(lag->from) && !has_begun(lag->to))
            stays[lag->from.index()] = 1;
    }
    std::vector<core::Begun> begun;
    for (std::size_t i = 0; i < earlier.size(); ++i) {
        if (!has_begun(OperationId{i})) continue;
        const Placement& p = *earlier[i];
        core::Begun b{.operation = OperationId{i},
                      .start = p.start,
                      .mode = p.mode,
                      .chosen = p.chosen,
                      .stores = p.stores,
                      .batch = p.batch};
        // What by the plan itself left before its follower came was put aside.
        if (p.end < now || (p.end == now && !stays[i])) {
            b.work_end = p.work_end;
            b.end = p.end;
        } else if (ends_as_told(problem.operations[i], p, now)) {
            b.work_end = p.work_end;
        }
        begun.push_back(std::move(b));
    }
    std::stable_sort(begun.begin(), begun.end(),
                     [](const core::Begun& a, const core::Begun& b) { return a.start < b.start; });
    return begun;
}

core::Problem holding(const core::Problem& problem, const EarlierPlan& earlier,
                      std::span<const OperationId> held) {
    core::Problem out = problem;
    for (const OperationId id : held) {
        const Placement& p = *earlier[id.index()];
        fix_choice(out, id, p);
        out.constraints.push_back(core::StartWindow{id, p.start, p.start});
    }
    return out;
}

void list_changes(const core::Problem& problem, const EarlierPlan& earlier, core::Seconds tolerance,
                  Replan& replan) {
    std::vector<char> begun(earlier.size(), 0);
    for (const core::Begun& b : problem.begun)
        begun[b.operation.index()] = 1;
    replan.changes.clear();
    for (auto& change : changes_between(earlier, *replan.solution.schedule, tolerance)) {
        if (!begun[change.operation.index()]) replan.changes.push_back(std::move(change));
    }
    replan.changed = static_cast<int>(replan.changes.size());
}

Replan replan(const core::Problem& problem, const EarlierPlan& earlier, const ReplanOptions& how,
              const SearchOptions& options) {
    Replan result;
    std::vector<char> begun(earlier.size(), 0);
    for (const core::Begun& b : problem.begun)
        begun[b.operation.index()] = 1;
    std::vector<OperationId> window;  // to hold, by planned start
    int lost = 0;
    // Whoever finishes what is under way after his hours has no time for anything else until then.
    const engine::RemainingProblem left(problem);
    const auto allowed = may_start(problem);
    for (std::size_t i = 0; i < earlier.size(); ++i) {
        if (!earlier[i] || begun[i] || earlier[i]->start >= *problem.now + how.frozen) continue;
        if (earlier[i]->start < *problem.now) continue;  // done again, or late: not of the window
        if (earlier[i]->start >= std::max(*problem.now, allowed[i]) &&
            staffed(left.problem(), i, *earlier[i]))
            window.push_back(OperationId{i});
        else
            ++lost;
    }
    std::stable_sort(window.begin(), window.end(), [&](OperationId a, OperationId b) {
        return earlier[a.index()]->start < earlier[b.index()]->start;
    });
    const core::Schedule old = known_part(problem, earlier);

    RoomGuide guide;
    guide.place = how.excess ? 0 : how.place;
    constexpr std::int64_t excess_first = 100'000;  // more than there are operations
    const auto count_in = [&](const engine::CompiledProblem& compiled,
                              const engine::FlatSchedule& f) {
        std::int64_t count = 0;
        std::vector<std::int32_t> was, now;
        for (std::size_t i = 0; i < earlier.size(); ++i) {
            if (!earlier[i] || begun[i]) continue;
            const Placement& p = *earlier[i];
            bool changed =
                std::abs(f.start[i] - p.start.time_since_epoch().count()) > how.tolerance.count();
            if (!changed) {
                const auto from = f.chosen.begin() + compiled.operations[i].chosen;
                const auto needs =
                    problem.operations[i].modes[static_cast<std::size_t>(f.mode[i])].needs.size();
                now.assign(from, from + static_cast<std::ptrdiff_t>(needs));
                was.clear();
                for (const core::ResourceId r : p.chosen)
                    was.push_back(r.value);
                changed = !std::is_permutation(was.begin(), was.end(), now.begin(), now.end());
            }
            count += changed ? 1 : 0;
        }
        return count;
    };
    const auto search_held = [&](std::size_t keep, const SearchOptions& by) {
        const core::Problem held = holding(problem, earlier, std::span(window).first(keep));
        const engine::RemainingProblem present(held);
        const engine::CompiledProblem compiled(present.problem());
        guide.count = [&](const engine::FlatSchedule& f) {
            return count_in(compiled, f) + (how.excess ? excess_first * how.excess(f) : 0);
        };
        guide.first.clear();
        for (const bool waits : {true, false}) {
            auto s = sequence_of(compiled, old, waits);
            for (std::size_t i = 0; i < earlier.size(); ++i) {
                if (earlier[i] && !begun[i]) continue;
                s.delay[i] = 0;
                s.mode[i] = -1;
            }
            guide.first.push_back(std::move(s));
        }
        return search_room(held, by, guide);
    };
    // A look at what holding costs, before the budget is spent on it; nullopt: it cannot be held.
    const auto first_aim = [&](std::size_t keep) -> std::optional<std::int64_t> {
        SearchOptions look = options;
        look.budget = {.evaluations = kLook};
        look.progress = nullptr;
        const auto found = search_held(keep, look).schedule;
        if (!found) return std::nullopt;
        const auto parts = core::evaluate(problem, *found).parts;
        return parts.empty() ? 0 : parts.front();
    };
    const bool counts = !window.empty() && how.place > 0 && !how.excess;
    const auto without = counts ? first_aim(0) : std::nullopt;
    const std::int64_t worth = worth_of_holding(problem, how.frozen);
    // The longest part of the window, by halves, that there is a schedule for and that costs no
    // more than it is worth.
    std::size_t keep = window.size();
    for (; keep > 0; keep /= 2) {
        const auto with = first_aim(keep);
        if (with && (!without || *with <= *without + worth)) break;
    }
    result.solution = search_held(keep, options);
    result.frozen = static_cast<int>(keep);
    result.relaxed = static_cast<int>(window.size()) + lost - result.frozen;
    result.held.assign(window.begin(), window.begin() + static_cast<std::ptrdiff_t>(keep));
    const auto counted = [&](const core::Schedule& s) {
        auto parts = core::evaluate(problem, s).parts;
        const auto changes = changes_between(earlier, s, how.tolerance);
        parts.insert(parts.begin() + static_cast<std::ptrdiff_t>(how.place),
                     static_cast<std::int64_t>(changes.size()));
        return parts;
    };
    if (how.still_right) {
        core::Schedule same;
        for (const auto& p : earlier)
            same.placements.push_back(*p);
        if (!result.solution.schedule || counted(same) <= counted(*result.solution.schedule)) {
            result.solution.schedule = std::move(same);
            result.solution.status = core::Status::Feasible;
        }
    }
    if (!result.solution.schedule) return result;
    result.solution.value = core::evaluate(problem, *result.solution.schedule);
    if (!result.solution.bound.parts.empty() && result.solution.value == result.solution.bound)
        result.solution.status = core::Status::Optimal;
    list_changes(problem, earlier, how.tolerance, result);
    return result;
}

}  // namespace sched::search
