// How it works: the steps of a pot are put into gaps of whoever can do them, from the last step
// back, so that nothing else moves; where its last step is late enough already, those before it.
// Where there is no such gap the same order, the plan's turns or else its starts, is worked off
// once more with the mixing kept back: what was done beside it then comes sooner. Either counts
// only where no aim gets worse, lateness by a hundredth at most, and both checks pass; half an hour
// sooner is tried then, or ten minutes. Of a plan that hangs only gaps are used, for pots that are
// mixed or wanted otherwise than it says.

#include "sched/app/parts/late_mixes.hpp"

#include <algorithm>
#include <limits>
#include <vector>

#include "sched/check/checker.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/index.hpp"
#include "sched/core/objective.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/executor.hpp"

namespace sched::app {

namespace {

using core::Placement;
using core::ResourceId;
using core::Seconds;
using core::SimTime;

constexpr Seconds worth_moving_for{15 * 60};
constexpr Seconds raster{30};
constexpr Seconds sooner{10 * 60};  // is tried where it does not come out
constexpr Seconds at_least{10 * 60};
constexpr std::int64_t minutes_more = 15 * 60;
constexpr int most_rounds = 3;
constexpr std::int64_t one_of = 100;  // parts of the lateness that it may be more

class Mixing {
public:
    Mixing(const FoundPlan& plan, std::size_t mix)
        : plan_(plan), schedule_(*plan.solution.schedule) {
        for (std::size_t i = 0; i < plan.room.operations.size(); ++i) {
            if (plan.room.operations[i].mix == static_cast<int>(mix)) steps_.push_back(i);
        }
        for (const core::Constraint& c : plan.problem.constraints) {
            const auto* lag = std::get_if<core::TimeLag>(&c);
            if (lag != nullptr && ours(lag->from) && ours(lag->to)) lags_.push_back(lag);
        }
        store_ = plan.room.mixes[mix].store;
        wanted_ = wanted_in(schedule_);
        if (!steps_.empty()) note_busy();
    }

    const std::vector<std::size_t>& steps() const { return steps_; }

    /// In the middle of the day: it is mixed as the plan that hangs says, and what it is mixed for
    /// is not wanted later; or it is held.
    bool stays(const search::EarlierPlan& earlier) const {
        if (!plan_.changes || steps_.empty()) return false;
        const auto& held = plan_.changes->held;
        if (std::any_of(held.begin(), held.end(), [&](core::OperationId id) { return ours(id); }))
            return true;
        SimTime wanted = SimTime::max();
        for (const auto& p : earlier) {
            if (p && std::find(p->stores.begin(), p->stores.end(), store_) != p->stores.end())
                wanted = std::min(wanted, p->start);
        }
        const auto& posted = earlier[steps_.front()];
        return posted && schedule_.placements[steps_.front()].start <= posted->start + raster &&
               schedule_.placements[steps_.front()].start >= posted->start - raster &&
               (wanted == SimTime::max() || wanted_ < wanted + worth_moving_for);
    }

    /// The plan with this pot mixed as late as can be; nullopt: it stays where it is.
    std::optional<core::Schedule> later(const std::function<bool()>& stop) const {
        if (steps_.empty() || wanted_ == SimTime::max() || fixed()) return std::nullopt;
        const core::Value before = core::evaluate(plan_.problem, schedule_);
        const SimTime begins = schedule_.placements[steps_.front()].start;
        const SimTime ended = schedule_.placements[steps_.back()].work_end;
        for (SimTime ready = std::max(ended, wanted_ - pot_waits); ready >= ended;
             ready -= sooner) {
            if (stop && stop()) return std::nullopt;
            auto moved = ready_by(ready);
            if (moved && moved->placements[steps_.front()].start >= begins + worth_moving_for &&
                !(before.parts < core::evaluate(plan_.problem, *moved).parts) &&
                check::check(plan_.problem, *moved).empty() &&
                check::check(plan_.room.problem, *moved).empty())
                return moved;
        }
        return std::nullopt;
    }

    /// The same by the order of work, where nobody has a gap: what was done beside the mixing comes
    /// sooner. @param late the problem with the pots that are mixed later already.
    /// @param before what the plan was worth before any was moved.
    std::optional<core::Schedule> taken_up_later(const core::Problem& late,
                                                 const core::Value& before,
                                                 const std::function<bool()>& stop) const {
        if (steps_.empty() || wanted_ == SimTime::max() || fixed()) return std::nullopt;
        std::vector<double> turns = study::turns_in_seconds(schedule_, plan_.turns);
        for (std::size_t i = turns.size(); i < schedule_.placements.size(); ++i)
            turns.push_back(
                static_cast<double>(schedule_.placements[i].start.time_since_epoch().count()));
        const SimTime begins = schedule_.placements[steps_.front()].start;
        for (SimTime t = wanted_ - pot_waits - shortest(); t >= begins + worth_moving_for;
             t -= std::chrono::minutes{30}) {
            if (stop && stop()) return std::nullopt;
            core::Problem problem = late;
            problem.constraints.push_back(begins_from(t));
            auto moved = study::schedule_of_list(problem, turns);
            if (moved && in_time(*moved) &&
                as_good(core::evaluate(plan_.problem, *moved), before) &&
                check::check(plan_.problem, *moved).empty() &&
                check::check(plan_.room.problem, *moved).empty())
                return moved;
        }
        return std::nullopt;
    }
    core::StartWindow begins_from(SimTime t) const {
        return {.operation = core::OperationId{steps_.front()}, .not_before = t};
    }

private:
    SimTime wanted_in(const core::Schedule& schedule) const {
        SimTime first = SimTime::max();
        for (const Placement& p : schedule.placements) {
            if (std::find(p.stores.begin(), p.stores.end(), store_) != p.stores.end())
                first = std::min(first, p.start);
        }
        return first;
    }
    // No coat waits for it.
    bool in_time(const core::Schedule& schedule) const {
        return schedule.placements[steps_.back()].work_end + at_least <= wanted_in(schedule);
    }
    // No order more is late, no overtime more worked; all lateness together may differ by as little
    // as the order of work makes it by itself, the end by minutes.
    bool as_good(const core::Value& value, const core::Value& than) const {
        const auto& aims = plan_.problem.objective;
        for (std::size_t k = 0; k < aims.size(); ++k) {
            std::int64_t more = 0;
            if (aims[k] == core::Criterion::WeightedTardiness) more = than.parts[k] / one_of;
            if (aims[k] == core::Criterion::Makespan || aims[k] == core::Criterion::FlowTime)
                more = minutes_more;
            if (aims[k] != core::Criterion::Holding && value.parts[k] > than.parts[k] + more)
                return false;
        }
        return true;
    }
    bool ours(core::OperationId id) const {
        return std::find(steps_.begin(), steps_.end(), id.index()) != steps_.end();
    }
    bool fixed() const {
        for (const core::Begun& begun : plan_.problem.begun) {
            if (ours(begun.operation)) return true;
        }
        for (const core::Constraint& c : plan_.problem.constraints) {
            const auto* window = std::get_if<core::StartWindow>(&c);
            if (window != nullptr && ours(window->operation)) return true;
        }
        return false;
    }

    // From the first step's start to the last one's end, where nobody is waited for.
    Seconds shortest() const {
        std::vector<Seconds> start(steps_.size(), Seconds{0});
        for (std::size_t k = 0; k < steps_.size(); ++k) {
            for (const core::TimeLag* lag : lags_) {
                if (lag->to.index() != steps_[k]) continue;
                const auto from = static_cast<std::size_t>(
                    std::find(steps_.begin(), steps_.end(), lag->from.index()) - steps_.begin());
                const Placement& p = schedule_.placements[lag->from.index()];
                start[k] = std::max(start[k], start[from] + worked(p, lag->edge) + lag->min);
            }
        }
        return start.back() + worked(schedule_.placements[steps_.back()], core::Edge::WorkEnd);
    }
    static Seconds worked(const Placement& p, core::Edge edge) {
        return edge == core::Edge::Start ? Seconds{0} : p.work_end - p.start;
    }

    // From the last step back, each as late as the one behind it allows and whoever does it is
    // free; what needs nobody then follows at once.
    std::optional<core::Schedule> ready_by(SimTime ready) const {
        core::Schedule out = schedule_;
        for (std::size_t k = steps_.size(); k-- > 0;) {
            Placement& p = out.placements[steps_[k]];
            const SimTime was = p.start;
            SimTime latest =
                k + 1 == steps_.size() ? ready - (p.work_end - p.start) : SimTime::max();
            for_lags(
                k,
                [&](const core::TimeLag& lag, const Placement& to) {
                    latest = std::min(latest, to.start - lag.min - length(p, lag.edge));
                },
                out);
            if (latest == SimTime::max() || !put(steps_[k], was, latest, p)) return std::nullopt;
        }
        for (std::size_t k = 1; k < steps_.size(); ++k) {
            Placement& p = out.placements[steps_[k]];
            if (!p.chosen.empty()) continue;
            SimTime first = SimTime::min();
            for (const core::TimeLag* lag : lags_) {
                if (lag->to.index() != steps_[k]) continue;
                const Placement& from = out.placements[lag->from.index()];
                first = std::max(first, from.start + length(from, lag->edge) + lag->min);
            }
            if (first != SimTime::min()) shift(p, first);
        }
        return out;
    }

    template <class Visit>
    void for_lags(std::size_t k, Visit visit, const core::Schedule& at) const {
        for (const core::TimeLag* lag : lags_) {
            if (lag->from.index() == steps_[k]) visit(*lag, at.placements[lag->to.index()]);
        }
    }
    static Seconds length(const Placement& p, core::Edge edge) {
        return edge == core::Edge::Start
                   ? Seconds{0}
                   : (edge == core::Edge::WorkEnd ? p.work_end : p.end) - p.start;
    }
    static void shift(Placement& p, SimTime to) {
        const Seconds by = to - p.start;
        p.start += by;
        p.work_end += by;
        p.end += by;
    }

    // The last moment in [was, latest] at which all that it needs is free.
    bool put(std::size_t i, SimTime was, SimTime latest, Placement& p) const {
        const auto& needs = plan_.problem.operations[i].modes[ix(p.mode)].needs;
        for (SimTime t = latest; t >= was; t -= raster) {
            shift(p, t);
            std::vector<ResourceId> chosen;
            for (std::size_t n = 0; n < needs.size(); ++n) {
                std::vector<ResourceId> who{p.chosen[n]};
                who.insert(who.end(), needs[n].any_of.begin(), needs[n].any_of.end());
                const auto found = std::find_if(who.begin(), who.end(), [&](ResourceId r) {
                    return std::find(chosen.begin(), chosen.end(), r) == chosen.end() &&
                           free(r, needs[n].span, p);
                });
                if (found == who.end()) break;
                chosen.push_back(*found);
            }
            if (chosen.size() < needs.size()) continue;
            p.chosen = std::move(chosen);
            return true;
        }
        return false;
    }

    // A first look, of one at a time: the checker has the last word.
    bool free(ResourceId r, core::Span span, const Placement& p) const {
        const SimTime to = span == core::Span::Whole ? p.end : p.work_end;
        const core::Resource& resource = plan_.problem.resources[r.index()];
        if (resource.calendar &&
            std::none_of(resource.calendar->begin(), resource.calendar->end(),
                         [&](const core::Window& w) { return w.from <= p.start && to <= w.to; }))
            return false;
        if (resource.capacity > 1) return true;
        const Seconds walk = span == core::Span::Work ? resource.walk : Seconds{0};
        const auto& busy = busy_[r.index()];
        const auto next =
            std::partition_point(busy.begin(), busy.end(),
                                 [&](const core::Window& w) { return w.to + walk <= p.start; });
        return next == busy.end() || next->from >= to + walk;
    }

    // When each resource of which there is one is taken by what is not moved.
    void note_busy() {
        busy_.resize(plan_.problem.resources.size());
        for (std::size_t i = 0; i < schedule_.placements.size(); ++i) {
            if (ours(core::OperationId{i})) continue;
            const Placement& q = schedule_.placements[i];
            const auto& needs = plan_.problem.operations[i].modes[ix(q.mode)].needs;
            for (std::size_t n = 0; n < needs.size(); ++n) {
                const SimTime until = needs[n].span == core::Span::Whole ? q.end : q.work_end;
                if (plan_.problem.resources[q.chosen[n].index()].capacity == 1)
                    core::open_window(busy_[q.chosen[n].index()], {q.start, until});
            }
        }
    }

    const FoundPlan& plan_;
    const core::Schedule& schedule_;
    std::vector<std::size_t> steps_;
    std::vector<const core::TimeLag*> lags_;  // between them
    std::vector<core::Calendar> busy_;        // per resource
    core::StoreId store_;
    SimTime wanted_ = SimTime::max();
};

// Each of the steps goes before all that begins when it does or later, and what comes before that
// goes before it: turns from 1 without gaps.
void put_in_turn(const core::Schedule& schedule, const std::vector<std::size_t>& steps,
                 std::vector<std::int32_t>& turns) {
    if (turns.empty()) return;
    const auto ours = [&](std::size_t i) {
        return std::find(steps.begin(), steps.end(), i) != steps.end();
    };
    for (const std::size_t step : steps) {
        std::int32_t before = std::numeric_limits<std::int32_t>::max();
        for (std::size_t i = 0; i < turns.size(); ++i) {
            if (!ours(i) && schedule.placements[i].start >= schedule.placements[step].start)
                before = std::min(before, turns[i]);
        }
        const std::int32_t now = turns[step];
        if (before == std::numeric_limits<std::int32_t>::max() || before < now) continue;
        for (std::int32_t& turn : turns) {
            if (turn > now && turn < before) --turn;
        }
        turns[step] = before - 1;
    }
}

// Of pots that are alike the first that is mixed has the first number, one in stock before one that
// is to be bought: they change places.
void number_by_time(FoundPlan& plan) {
    const auto& mixes = plan.room.mixes;
    std::vector<std::vector<std::size_t>> steps(mixes.size());
    for (std::size_t i = 0; i < plan.room.operations.size(); ++i) {
        if (plan.room.operations[i].mix >= 0) steps[ix(plan.room.operations[i].mix)].push_back(i);
    }
    core::Schedule schedule = *plan.solution.schedule;
    std::vector<std::int32_t> turns = plan.turns;
    bool changed = false;
    for (std::size_t a = 0; a < mixes.size(); ++a) {
        for (std::size_t b = a + 1; b < mixes.size(); ++b) {
            if (mixes[a].emulsion != mixes[b].emulsion ||
                mixes[a].volume_ml != mixes[b].volume_ml || steps[a].empty() ||
                steps[a].size() != steps[b].size() ||
                schedule.placements[steps[a].front()].start <=
                    schedule.placements[steps[b].front()].start)
                continue;
            for (std::size_t k = 0; k < steps[a].size(); ++k) {
                std::swap(schedule.placements[steps[a][k]], schedule.placements[steps[b][k]]);
                if (!turns.empty()) std::swap(turns[steps[a][k]], turns[steps[b][k]]);
            }
            for (Placement& p : schedule.placements) {
                for (core::StoreId& s : p.stores) {
                    if (s == mixes[a].store)
                        s = mixes[b].store;
                    else if (s == mixes[b].store)
                        s = mixes[a].store;
                }
            }
            changed = true;
        }
    }
    if (!changed || !check::check(plan.problem, schedule).empty() ||
        !check::check(plan.room.problem, schedule).empty())
        return;
    plan.solution.schedule = std::move(schedule);
    plan.turns = std::move(turns);
}

}  // namespace

void mix_when_wanted(FoundPlan& plan, const search::EarlierPlan& earlier,
                     const std::function<bool()>& stop) {
    if (!plan.solution.schedule) return;
    const std::vector<std::int32_t> turns = plan.turns;
    bool any = false;
    core::Problem late = plan.problem;
    const core::Value before = core::evaluate(plan.problem, *plan.solution.schedule);
    // A pot that is moved changes from which ones others are taken: once more, then.
    bool moved = true;
    for (int round = 0; round < most_rounds && moved; ++round) {
        moved = false;
        for (std::size_t m = 0; m < plan.room.mixes.size(); ++m) {
            const Mixing mixing(plan, m);
            if (mixing.stays(earlier)) continue;
            auto later = mixing.later(stop);
            // Of what hangs nothing else moves.
            if (!later && !plan.changes) later = mixing.taken_up_later(late, before, stop);
            if (!later) continue;
            moved = any = true;
            late.constraints.push_back(
                mixing.begins_from(later->placements[mixing.steps().front()].start));
            put_in_turn(*later, mixing.steps(), plan.turns);
            plan.solution.value = core::evaluate(plan.problem, *later);
            plan.solution.schedule = *std::move(later);
        }
    }
    if (!plan.changes) return number_by_time(plan);
    if (!any) return;
    plan.changes->solution = plan.solution;
    search::list_changes(plan.problem, earlier, search::ReplanOptions{}.tolerance, *plan.changes);
    if (plan.turns != turns) plan.stays = plan.chosen;
}

}  // namespace sched::app
