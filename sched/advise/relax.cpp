// Limits that cannot all be kept from the moment of the plan on.
//
// How it works: the maximum lags that run already are let go, and if that leads to no schedule, all
// of the screens under way; what a plan exceeds them by counts before anything else. Where there is
// still no schedule, a place that closes with screens on it keeps them (nobody may be there to take
// them out before): its next hours out of work, one after the other, are opened for what stands
// there, and nobody works there until they are over.

#include <algorithm>
#include <set>
#include <variant>

#include "sched/advise/feasibility.hpp"
#include "sched/advise/replan.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/index.hpp"
#include "sched/engine/remaining_problem.hpp"

namespace sched::search {

namespace {

// A maximum lag that may be exceeded; times in ticks.
struct Exceedable {
    std::size_t constraint;
    core::TimeLag lag;
    std::optional<std::int64_t> edge;  // known: what has begun

    std::int64_t excess(std::int64_t from, std::int64_t to) const {
        return std::max<std::int64_t>(0, to - edge.value_or(from) - lag.max->count());
    }
};

std::vector<Exceedable> exceedable(const core::Problem& problem) {
    std::vector<int> fact(problem.operations.size(), -1);
    std::vector<char> under_way(problem.jobs.size(), 0);
    for (std::size_t k = 0; k < problem.begun.size(); ++k) {
        const core::OperationId id = problem.begun[k].operation;
        fact[id.index()] = static_cast<int>(k);
        const core::JobId job = problem.operations[id.index()].job;
        if (job.valid()) under_way[job.index()] = 1;
    }
    const auto ends = engine::ends_of_work(problem);
    const engine::RemainingProblem present(problem);
    const auto& over = present.missed();  // nobody can keep these anyway
    const auto tick = [](core::SimTime t) { return t.time_since_epoch().count(); };
    std::vector<Exceedable> found;
    for (std::size_t c = 0; c < problem.constraints.size(); ++c) {
        const auto* lag = std::get_if<core::TimeLag>(&problem.constraints[c]);
        if (!lag || !lag->max || fact[lag->to.index()] >= 0 ||
            std::find(over.begin(), over.end(), c) != over.end())
            continue;
        const core::JobId job = problem.operations[lag->to.index()].job;
        if (!job.valid() || !under_way[job.index()]) continue;
        // A place that is handed over stays handed over.
        if (lag->edge == core::Edge::End && *lag->max == core::Seconds{0}) continue;
        Exceedable e{c, *lag, std::nullopt};
        if (const int k = fact[lag->from.index()]; k >= 0) {
            const core::Begun& b = problem.begun[static_cast<std::size_t>(k)];
            if (lag->edge == core::Edge::Start) e.edge = tick(b.start);
            if (lag->edge == core::Edge::WorkEnd && ends[static_cast<std::size_t>(k)])
                e.edge = tick(*ends[static_cast<std::size_t>(k)]);
            if (lag->edge == core::Edge::End && b.end) e.edge = tick(*b.end);
        }
        found.push_back(e);
    }
    return found;
}

constexpr int most_closings = 4;  // in a row that a screen may stand through

bool needs_person(const core::Operation& o) {
    return std::any_of(o.modes.begin(), o.modes.end(), [](const core::Mode& m) {
        return std::any_of(m.needs.begin(), m.needs.end(),
                           [](const core::Need& n) { return n.span == core::Span::Work; });
    });
}

bool may_be_at(const core::Operation& o, core::ResourceId place) {
    return std::any_of(o.modes.begin(), o.modes.end(), [&](const core::Mode& m) {
        return std::any_of(m.needs.begin(), m.needs.end(), [&](const core::Need& n) {
            return n.span == core::Span::Whole &&
                   std::find(n.any_of.begin(), n.any_of.end(), place) != n.any_of.end();
        });
    });
}

/// Lets screens that are under way stay where they are through the next hours in which the place
/// is out of work.
class StandThrough {
public:
    explicit StandThrough(core::Problem& problem)
        : p_(problem),
          begun_(problem.operations.size(), 0),
          next_(problem.operations.size(), -1),
          mode_(problem.operations.size(), -1) {
        for (const core::Begun& b : p_.begun) {
            begun_[b.operation.index()] = 1;
            mode_[b.operation.index()] = b.mode;
        }
        for (bool more = true; more;) {
            more = false;
            for (const auto& c : p_.constraints) {
                const auto* same = std::get_if<core::SameMode>(&c);
                if (same == nullptr) continue;
                int& a = mode_[same->a.index()];
                int& b = mode_[same->b.index()];
                if ((a < 0) == (b < 0)) continue;
                a = b = std::max(a, b);
                more = true;
            }
        }
        for (const auto& c : p_.constraints) {
            const auto* lag = std::get_if<core::TimeLag>(&c);
            if (lag && lag->edge == core::Edge::End && lag->max == core::Seconds{0})
                next_[lag->from.index()] = lag->to.value;
        }
    }

    /// @returns what stands through what; nothing: no place closes with a screen on it.
    std::vector<Stood> run(int closings) {
        std::vector<Stood> all;
        for (std::size_t r = 0; r < p_.resources.size(); ++r)
            place(core::ResourceId(static_cast<std::int32_t>(r)), closings, all);
        return all;
    }

private:
    void place(core::ResourceId place, int closings, std::vector<Stood>& all) {
        auto& calendar = p_.resources[place.index()].calendar;
        if (!calendar) return;
        std::set<std::size_t> stay;  // what nobody is needed for, behind what is there now
        std::vector<core::JobId> jobs;
        for (const core::Begun& b : p_.begun) {
            const core::Operation& o = p_.operations[b.operation.index()];
            if (b.end || !o.job.valid() || !there(b, place)) continue;
            jobs.push_back(o.job);
            for (auto i = next_[b.operation.index()]; i >= 0; i = next_[ix(i)]) {
                const core::Operation& follower = p_.operations[ix(i)];
                if (needs_person(follower) || !may_be_at(follower, place)) break;
                stay.insert(ix(i));
            }
        }
        if (jobs.empty()) return;
        std::optional<core::Window> hole;  // from the first closing to the last
        for (int k = 0; k < closings; ++k) {
            const auto next = closing(*calendar);
            if (!next) break;
            hole = hole ? core::Window{hole->from, next->to} : *next;
            core::open_window(*calendar, *next);
        }
        if (!hole) return;
        for (const core::JobId job : jobs)
            all.push_back({job, place, *hole});
        for (std::size_t i = 0; i < p_.operations.size(); ++i) {
            if (begun_[i] == 0 && !stay.contains(i)) keep_away(i, place, hole->to);
        }
    }

    bool there(const core::Begun& b, core::ResourceId place) const {
        const auto& needs = p_.operations[b.operation.index()].modes[ix(b.mode)].needs;
        for (std::size_t n = 0; n < needs.size() && n < b.chosen.size(); ++n) {
            if (needs[n].span == core::Span::Whole && b.chosen[n] == place) return true;
        }
        return false;
    }

    // The first hours out of work that end after the moment of the plan.
    std::optional<core::Window> closing(const core::Calendar& calendar) const {
        for (std::size_t w = 0; w + 1 < calendar.size(); ++w) {
            if (calendar[w + 1].from > *p_.now)
                return core::Window{calendar[w].to, calendar[w + 1].from};
        }
        return std::nullopt;
    }

    // Works elsewhere, or there only afterwards.
    void keep_away(std::size_t i, core::ResourceId place, core::SimTime until) {
        core::Operation& o = p_.operations[i];
        if (!may_be_at(o, place)) return;
        const auto at_place = [&](const core::Need& n) {
            return n.span == core::Span::Whole &&
                   std::find(n.any_of.begin(), n.any_of.end(), place) != n.any_of.end();
        };
        // A screen that is at another unit stays there.
        const auto& possible = mode_[i] < 0 ? o.modes : std::vector{o.modes[ix(mode_[i])]};
        bool goes_there = false, elsewhere = true;
        for (const core::Mode& m : possible) {
            for (const core::Need& n : m.needs) {
                goes_there |= at_place(n);
                elsewhere &= !at_place(n) || n.any_of.size() > 1;
            }
        }
        if (!goes_there) return;
        if (!elsewhere) {
            p_.constraints.emplace_back(core::StartWindow{
                core::OperationId(static_cast<std::int32_t>(i)), until, std::nullopt});
            return;
        }
        for (core::Mode& m : o.modes) {
            for (core::Need& n : m.needs) {
                if (at_place(n) && n.any_of.size() > 1) std::erase(n.any_of, place);
            }
        }
    }

    core::Problem& p_;
    std::vector<char> begun_;
    std::vector<std::int32_t> next_;  // per operation: what takes the screen over; -1: nothing
    std::vector<int> mode_;           // per operation: as something begun has it; -1: free
};

// As few closings stood through as `loose` needs for a schedule; 0 where none helps.
int closings_for_a_plan(const core::Problem& loose, const std::function<bool()>& stop) {
    if (first_answer(loose, stop, false).kind == FirstAnswer::Kind::Plan) return 0;
    for (int closings = 1; closings <= most_closings; ++closings) {
        core::Problem other = loose;
        if (stand_through(other, closings).empty()) return 0;
        if (first_answer(other, stop, false).kind == FirstAnswer::Kind::Plan) return closings;
    }
    return 0;
}

}  // namespace

std::vector<Stood> stand_through(core::Problem& problem, int closings) {
    return StandThrough(problem).run(closings);
}

namespace {

core::Problem without(const core::Problem& problem, const std::vector<Exceedable>& limits) {
    core::Problem loose = problem;
    for (const Exceedable& e : limits)
        std::get<core::TimeLag>(loose.constraints[e.constraint]).max.reset();
    return loose;
}

// Those whose clock runs already: nobody puts remover on a screen that nobody can rinse in time,
// so of what has not begun no limit is let go that need not be.
std::vector<Exceedable> running(const core::Problem& problem, std::vector<Exceedable> limits) {
    std::set<std::size_t> begun;
    for (const core::Begun& b : problem.begun)
        begun.insert(b.operation.index());
    std::erase_if(limits, [&](const Exceedable& e) { return !begun.contains(e.lag.from.index()); });
    return limits;
}

}  // namespace

core::Problem without_limits_under_way(const core::Problem& problem,
                                       const std::function<bool()>& stop) {
    core::Problem loose = without(problem, exceedable(problem));
    stand_through(loose, closings_for_a_plan(loose, stop));
    return loose;
}

namespace {

Relaxed let_go(const core::Problem& problem, const std::vector<Exceedable>& limits,
               const EarlierPlan& earlier, const ReplanOptions& how, const SearchOptions& options) {
    Relaxed result;
    result.problem = without(problem, limits);
    result.closings = closings_for_a_plan(result.problem, options.stop);
    result.stood = stand_through(result.problem, result.closings);
    ReplanOptions loose = how;
    loose.still_right = false;
    loose.excess = [&](const engine::FlatSchedule& f) {
        std::int64_t sum = 0;
        for (const Exceedable& e : limits) {
            const std::size_t from = e.lag.from.index();
            sum += e.excess(e.lag.edge == core::Edge::Start     ? f.start[from]
                            : e.lag.edge == core::Edge::WorkEnd ? f.work_end[from]
                                                                : f.end[from],
                            f.start[e.lag.to.index()]);
        }
        return sum;
    };
    EarlierPlan known = earlier;
    known.resize(problem.operations.size());
    result.replan = replan(result.problem, known, loose, options);
    if (!result.replan.solution.schedule) return result;
    const auto tick = [](core::SimTime t) { return t.time_since_epoch().count(); };
    for (const Exceedable& e : limits) {
        const auto& from = result.replan.solution.schedule->placements[e.lag.from.index()];
        const auto& to = result.replan.solution.schedule->placements[e.lag.to.index()];
        const core::SimTime edge = e.lag.edge == core::Edge::Start     ? from.start
                                   : e.lag.edge == core::Edge::WorkEnd ? from.work_end
                                                                       : from.end;
        if (tick(to.start) - tick(edge) > e.lag.max->count()) {
            result.missed.push_back(e.constraint);
        } else {
            std::get<core::TimeLag>(result.problem.constraints[e.constraint]).max = e.lag.max;
        }
    }
    return result;
}

}  // namespace

Relaxed let_limits_go(const core::Problem& problem, const EarlierPlan& earlier,
                      const ReplanOptions& how, const SearchOptions& options) {
    const auto all = exceedable(problem);
    const auto some = running(problem, all);
    if (!some.empty() && some.size() < all.size()) {
        core::Problem loose = without(problem, some);
        stand_through(loose, closings_for_a_plan(loose, options.stop));
        if (first_answer(loose, options.stop).kind == FirstAnswer::Kind::Plan) {
            auto result = let_go(problem, some, earlier, how, options);
            if (result.replan.solution.schedule) return result;
        }
    }
    return let_go(problem, all, earlier, how, options);
}

}  // namespace sched::search
