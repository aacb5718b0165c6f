// Everything is found again by name, since the room may have been compiled of other orders, for
// more days, or with spare ways: what the posted plan says of a step, its turn, a limit that is let
// go, a place that is out of work.

#include "sched/simulate/begun_day.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>
#include <utility>
#include <variant>

#include "model/base/units.hpp"
#include "sched/compile/room_state.hpp"
#include "sched/core/pauses.hpp"
#include "sched/simulate/chance_plan.hpp"

namespace sched::study {

search::EarlierPlan earlier_of(const BegunDay& day, compile::RoomProblem& room) {
    if (!day.posted) return {};
    core::place_pauses(room.problem, day.posted->problem.pauses);
    return search::match_by_name(day.posted->problem, day.posted->schedule, room.problem);
}

std::vector<double> posted_turns(const BegunDay::PostedPlan& posted, const core::Problem& problem,
                                 const core::Schedule& schedule) {
    if (posted.turns.empty()) return {};
    const auto seconds = turns_in_seconds(posted.schedule, posted.turns);
    // Found again by name: a schedule in which each stands at its number.
    core::Schedule numbered = posted.schedule;
    for (std::size_t i = 0; i < numbered.placements.size(); ++i)
        numbered.placements[i].start = core::SimTime{core::Seconds{static_cast<std::int64_t>(i)}};
    const auto found = search::match_by_name(posted.problem, numbered, problem);
    std::vector<double> turns;
    for (std::size_t i = 0; i < found.size(); ++i) {
        const auto number =
            found[i] ? static_cast<std::size_t>(found[i]->start.time_since_epoch().count())
                     : seconds.size();
        turns.push_back(
            number < seconds.size()
                ? seconds[number]
                : static_cast<double>(schedule.placements[i].start.time_since_epoch().count()));
    }
    return turns;
}

bool put_begun(const BegunDay& day, const search::EarlierPlan& earlier, compile::RoomProblem& room,
               std::vector<std::string>& notes, model::Diagnostics& diagnostics) {
    std::vector<core::Begun> begun;
    if (!earlier.empty()) begun = search::begun_by(room.problem, earlier, day.now);
    return compile::apply_state(day.state, day.now, earlier, std::move(begun), room, notes,
                                diagnostics);
}

namespace {

const std::string& words_of(const compile::RoomProblem& room, core::OperationId id) {
    const std::string& words = room.operations[id.index()].words;
    return words.empty() ? room.problem.operations[id.index()].name : words;
}

// Operations have the same numbers in both.
void take_over_limits(const core::Problem& planned, core::Problem& longer) {
    using Key = std::tuple<int, int, core::Edge>;
    std::map<Key, bool> limited;
    for (const auto& c : planned.constraints) {
        if (const auto* lag = std::get_if<core::TimeLag>(&c))
            limited[{lag->from.value, lag->to.value, lag->edge}] |= lag->max.has_value();
    }
    for (auto& c : longer.constraints) {
        auto* lag = std::get_if<core::TimeLag>(&c);
        if (lag == nullptr || !lag->max) continue;
        const auto known = limited.find({lag->from.value, lag->to.value, lag->edge});
        if (known != limited.end() && !known->second) lag->max.reset();
    }
}

// A lamp that failed cold holds nobody back any more (compile::apply_state): nor does it on
// simulated days, the screens made again among them.
void take_over_order(const core::Problem& planned, core::Problem& longer) {
    const auto count = static_cast<std::int32_t>(planned.operations.size());
    std::set<std::pair<std::int32_t, std::int32_t>> known;
    for (const auto& c : planned.constraints) {
        if (const auto* lag = std::get_if<core::TimeLag>(&c))
            known.emplace(lag->from.value, lag->to.value);
    }
    std::set<std::int32_t> free;  // from which an operation of the plan waits for no more
    // A lamp is warmed up for no screen of its own.
    const auto dropped = [&](const core::Constraint& c) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        return lag != nullptr && !lag->max && lag->from.value < count && lag->to.value < count &&
               !planned.operations[lag->from.index()].job.valid() &&
               planned.operations[lag->to.index()].job.valid() &&
               known.count({lag->from.value, lag->to.value}) == 0;
    };
    for (const auto& c : longer.constraints) {
        if (dropped(c)) free.insert(std::get<core::TimeLag>(c).from.value);
    }
    if (free.empty()) return;
    const auto goes = [&](const core::Constraint& c) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        return dropped(c) ||
               (lag != nullptr && free.count(lag->from.value) > 0 && lag->to.value >= count);
    };
    longer.constraints.erase(
        std::remove_if(longer.constraints.begin(), longer.constraints.end(), goes),
        longer.constraints.end());
}

// Who is kept away from a place, where or until when.
void take_over_places(const core::Problem& planned, core::Problem& longer) {
    const std::size_t both = std::min(planned.operations.size(), longer.operations.size());
    for (std::size_t i = 0; i < both; ++i) {
        const auto& modes = planned.operations[i].modes;
        auto& same = longer.operations[i].modes;
        for (std::size_t m = 0; m < modes.size() && m < same.size(); ++m) {
            for (std::size_t n = 0; n < modes[m].needs.size() && n < same[m].needs.size(); ++n)
                same[m].needs[n].any_of = modes[m].needs[n].any_of;
        }
    }
    std::map<int, core::SimTime> known;
    for (const auto& c : longer.constraints) {
        const auto* window = std::get_if<core::StartWindow>(&c);
        if (window == nullptr || !window->not_before) continue;
        auto& from = known[window->operation.value];
        from = std::max(from, *window->not_before);
    }
    for (const auto& c : planned.constraints) {
        const auto* window = std::get_if<core::StartWindow>(&c);
        if (window == nullptr || !window->not_before || window->not_after) continue;
        const auto own = known.find(window->operation.value);
        if (own == known.end() || own->second < *window->not_before)
            longer.constraints.emplace_back(*window);
    }
}

}  // namespace

std::string missed_words(const compile::RoomProblem& room, std::size_t constraint) {
    const auto& lag = std::get<core::TimeLag>(room.problem.constraints[constraint]);
    // What is handed over has no time between: a wet coat that nobody hung up, say.
    const std::string when = *lag.max == core::Seconds{0}
                                 ? " was to follow " + words_of(room, lag.from) + " at once"
                                 : " was to begin within " + model::format_duration(*lag.max) +
                                       " of " + words_of(room, lag.from);
    return "LIMIT MISSED: " + words_of(room, lag.to) + when +
           "; that cannot be kept any more. See to that screen.";
}

std::vector<std::string> stood_words(const compile::RoomProblem& room,
                                     const std::vector<search::Stood>& stood) {
    std::vector<std::string> out;
    for (std::size_t k = 0; k < stood.size();) {
        const search::Stood& first = stood[k];
        std::string screens;
        for (; k < stood.size() && stood[k].place == first.place; ++k)
            screens += (screens.empty() ? "" : ", ") + room.problem.jobs[stood[k].job.index()].name;
        out.push_back("STAYS IN THERE: what nobody can take out of " +
                      room.problem.resources[first.place.index()].name +
                      " before it is out of work until " +
                      model::format_date_time(first.closing.to) + " (" + screens + ").");
    }
    return out;
}

RelaxedLimit limit_of(const core::Problem& problem, std::size_t constraint) {
    const auto& lag = std::get<core::TimeLag>(problem.constraints[constraint]);
    return {problem.operations[lag.from.index()].name, problem.operations[lag.to.index()].name,
            lag.edge};
}

void relaxed(const std::vector<RelaxedLimit>& limits, core::Problem& problem) {
    for (auto& c : problem.constraints) {
        auto* lag = std::get_if<core::TimeLag>(&c);
        if (lag == nullptr || !lag->max) continue;
        for (const auto& limit : limits) {
            if (limit.edge == lag->edge &&
                limit.from == problem.operations[lag->from.index()].name &&
                limit.to == problem.operations[lag->to.index()].name) {
                lag->max.reset();
                break;
            }
        }
    }
}

void take_over_remaining(const core::Problem& planned, core::Problem& longer) {
    if (!planned.now) return;
    longer.now = planned.now;
    longer.begun = planned.begun;
    take_over_limits(planned, longer);
    take_over_order(planned, longer);
    take_over_places(planned, longer);
    const core::SimTime end = planned.horizon_end;
    for (std::size_t r = 0; r < planned.resources.size(); ++r) {
        const auto& known = planned.resources[r].calendar;
        if (!known) continue;
        auto& calendar = longer.resources[r].calendar;
        core::Calendar all = *known;
        if (!calendar) calendar = core::Calendar{{longer.horizon_start, longer.horizon_end}};
        for (const auto& w : *calendar) {
            const core::SimTime from = std::max(w.from, end);
            if (from >= w.to) continue;
            if (!all.empty() && all.back().to == from)
                all.back().to = w.to;
            else
                all.push_back({from, w.to});
        }
        calendar = std::move(all);
    }
}

}  // namespace sched::study
