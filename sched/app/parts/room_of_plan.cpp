// The room is compiled, what has begun is put on it, and it is asked for a first plan; if there is
// none, the same with more days, until one is found or the days show that there is none.

#include "sched/app/parts/room_of_plan.hpp"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <map>

#include "sched/app/parts/under_way.hpp"
#include "sched/compile/more_mixes.hpp"
#include "sched/core/pauses.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/simulate/begun_day.hpp"

namespace sched::app {

namespace {

constexpr int most_days = 63;              // of the horizon, by due dates alone
constexpr int more_days[] = {7, 35, 119};  // where the work does not end in them
constexpr int break_parts = 6;             // of a window: where breaks are tried
constexpr int days_after_the_last = 3;     // film or frame that is still to come

// Twice as long as until the last due date, so that what comes late, over a weekend too, still has
// a plan; and until what is still to come is there.
int days_of(const Question& q) {
    const auto until = [&](model::SimTime t) {
        return static_cast<int>(std::clamp<std::int64_t>(
            std::chrono::ceil<std::chrono::days>(t - q.start).count(), 0, 400));
    };
    int days = compile::CompileOptions{}.days;
    if (q.midday) days = std::max(days, until(q.midday->now) + days_after_the_last);
    for (const auto& order : q.scenario.orders) {
        days = std::max(days, std::min(2 * until(order.due) + 1, most_days));
        for (const auto& line : order.lines) {
            if (line.film_ready)
                days = std::max(days, until(*line.film_ready) + days_after_the_last);
        }
    }
    for (const auto& stock : q.scenario.frames) {
        if (stock.from)
            days = std::max(days, std::min(until(*stock.from) + days_after_the_last, most_days));
    }
    return days;
}

std::optional<RoomOfPlan> compiled(const Question& q, compile::CompileOptions how,
                                   model::Diagnostics& diagnostics) {
    auto room = compile::compile_room(q.scenario, how, diagnostics);
    if (!room) return std::nullopt;
    RoomOfPlan out{.room = std::move(*room), .how = std::move(how)};
    if (!q.midday) return out;
    if (q.midday->now >= out.room.problem.horizon_end) {
        std::fprintf(stderr, "coatroom plan: --now lies behind the days that are planned.\n");
        return std::nullopt;
    }
    study::BegunDay day{.now = q.midday->now, .state = q.midday->state};
    if (q.midday->posted) day.posted = posted_plan(*q.midday->posted);
    out.earlier = study::earlier_of(day, out.room);
    if (!study::put_begun(day, out.earlier, out.room, out.notes, diagnostics)) return std::nullopt;
    const engine::RemainingProblem present(out.room.problem);
    for (const std::size_t c : present.missed())
        out.notes.push_back(study::missed_words(out.room, c));
    return out;
}

// Is there a plan? Where somebody's break is in the way that may be moved, it is. @param days_come:
// where time lacks, more days are tried next, and no breaks are moved for it.
void answer(const Question& q, RoomOfPlan& room, bool proof = true, bool days_come = false) {
    core::Problem& problem = room.room.problem;
    room.first = search::first_answer(problem, q.how.stop, proof);
    if (room.first.kind == search::FirstAnswer::Kind::Plan || problem.now) return;
    if (days_come && room.first.kind == search::FirstAnswer::Kind::Horizon) return;
    const bool movable = std::any_of(problem.pauses.begin(), problem.pauses.end(),
                                     [](const core::Pause& p) { return p.earliest < p.latest; });
    if (!movable || search::find_impossible(core::without_movable_pauses(problem))) return;
    for (int part = 0; part <= break_parts; ++part) {
        core::Problem moved = problem;
        core::shift_pauses(moved, part, break_parts);
        auto first = search::first_answer(moved, q.how.stop, false);
        if (first.kind != search::FirstAnswer::Kind::Plan) continue;
        room.first = std::move(first);
        room.how.pauses = moved.pauses;
        problem = std::move(moved);
        return;
    }
}

// Is there one at least that misses limits of what is under way?
bool plan_without_limits(const Question& q, const RoomOfPlan& room) {
    const auto loose = search::without_limits_under_way(room.room.problem, q.how.stop);
    return search::first_answer(loose, q.how.stop, false).kind == search::FirstAnswer::Kind::Plan;
}

// What the plan that hangs has mixed or will mix.
std::map<std::string, int> mixes_of(const Question& q) {
    std::map<std::string, int> mixes;
    if (!q.midday || !q.midday->posted) return mixes;
    for (const report::MixLine& mix : q.midday->posted->mixes)
        ++mixes[mix.emulsion];
    return mixes;
}

// The fewest pots of emulsion that does not keep that have a plan, that misses limits of what is
// under way if `loose`; none: no number of them has.
std::optional<RoomOfPlan> fewest_mixes(const Question& q, const compile::MoreMixes& mixes,
                                       const compile::CompileOptions& asked,
                                       model::Diagnostics& diagnostics, bool loose = false) {
    const model::Diagnostics before = diagnostics;
    const auto with = [&](int more) -> std::optional<RoomOfPlan> {
        compile::CompileOptions how = asked;
        how.mixes = mixes.mixes(how.mixes, more);
        model::Diagnostics said = before;
        auto room = compiled(q, how, said);
        if (!room) return std::nullopt;
        answer(q, *room, false);
        const bool exists = room->first.kind == search::FirstAnswer::Kind::Plan ||
                            (loose && plan_without_limits(q, *room));
        if (!exists) return std::nullopt;
        diagnostics = std::move(said);
        return room;
    };
    return mixes.fewest(with, [&] { return q.how.stop && q.how.stop(); });
}

// `last`: where there is none, the answer is asked why.
std::optional<RoomOfPlan> answered(const Question& q, const compile::CompileOptions& how,
                                   model::Diagnostics& diagnostics, bool last) {
    using Kind = search::FirstAnswer::Kind;
    const model::Diagnostics before = diagnostics;
    auto room = compiled(q, how, diagnostics);
    if (!room) return room;
    answer(q, *room, last, !last);
    if (room->first.kind == Kind::Plan) return room;
    const compile::MoreMixes more(room->room);
    if (!more.may_help()) return room;
    model::Diagnostics said = before;
    if (auto found = fewest_mixes(q, more, room->how, said)) {
        diagnostics = std::move(said);
        return found;
    }
    return room;
}

// Shifts are weekly. Two weeks without anything that has a date show all that will ever be.
void look(const Question& q, model::SimTime until, RoomOfPlan& room) {
    room.looked_until = until;
    model::SimTime dated = q.start;
    for (const auto& station : q.scenario.room.stations) {
        for (const auto& closed : station.closed)
            dated = std::max(dated, closed.second);
    }
    for (const auto& person : q.scenario.room.people) {
        for (const auto& day : person.absent)
            dated = std::max(dated, model::midnight(day) + std::chrono::days{1});
    }
    for (const auto& stock : q.scenario.frames)
        dated = std::max(dated, stock.from.value_or(dated));
    for (const auto& order : q.scenario.orders) {
        for (const auto& line : order.lines)
            dated = std::max(dated, line.film_ready.value_or(dated));
    }
    room.for_good = dated + std::chrono::days{14} <= until;
}

// In the middle of the day limits may be missed; the work needs its days and its pots all the
// same. Where that helps, `room` becomes the one with enough of both; what was said of it is kept.
void allow_missed_limits(const Question& q, const compile::CompileOptions& asked,
                         const model::Diagnostics& before, RoomOfPlan& room,
                         model::Diagnostics& said) {
    if (plan_without_limits(q, room)) return;
    for (const int more : {0, more_days[0], more_days[1]}) {
        if (q.how.stop && q.how.stop()) return;
        compile::CompileOptions how = asked;
        how.days = asked.days + more;
        how.late_coats = more > 0;
        model::Diagnostics again = before;
        auto other = compiled(q, how, again);
        if (!other) return;
        answer(q, *other, false);
        if (!plan_without_limits(q, *other)) {
            const compile::MoreMixes mixes(other->room);
            if (!mixes.may_help()) continue;
            again = before;
            other = fewest_mixes(q, mixes, other->how, again, true);
            if (!other) continue;
        }
        other->first = room.first;
        other->looked_until = room.looked_until;
        other->for_good = room.for_good;
        room = std::move(*other);
        said = std::move(again);
        return;
    }
}

// The plan that hangs was left without pots that nobody takes from. Where its own are enough still,
// there are no others.
void mix_as_posted(const Question& q, model::Diagnostics diagnostics, RoomOfPlan& room) {
    const auto posted = mixes_of(q);
    std::map<std::string, int> here;
    for (const compile::MixInfo& mix : room.room.mixes)
        ++here[mix.emulsion];
    if (!q.midday || !q.midday->posted || here == posted) return;
    compile::CompileOptions how = room.how;
    how.no_more_mixes = posted;
    auto fewer = compiled(q, how, diagnostics);
    if (!fewer) return;
    answer(q, *fewer, false);
    if (fewer->first.kind != search::FirstAnswer::Kind::Plan) return;
    fewer->looked_until = room.looked_until;
    fewer->for_good = room.for_good;
    room = std::move(*fewer);
}

}  // namespace

std::optional<RoomOfPlan> room_of(const Question& q, model::Diagnostics& diagnostics) {
    using Kind = search::FirstAnswer::Kind;
    const int days = days_of(q);
    compile::CompileOptions how{
        .start = q.start,
        .days = days,
        .day_kind = q.day_kind,
        .mixes = mixes_of(q),
        .frames = q.midday && q.midday->posted
                      ? frames_under_way(*q.midday->posted, q.midday->state, q.midday->now)
                      : std::vector<compile::FrameOfScreen>{}};
    model::Diagnostics said = diagnostics;
    auto room = answered(q, how, said, false);
    if (room) look(q, room->room.problem.horizon_end, *room);
    for (const int more : more_days) {
        if (!room || room->first.kind == Kind::Plan) break;
        how.days = days + more;
        how.late_coats = true;
        model::Diagnostics again = diagnostics;
        auto longer = answered(q, how, again, more == more_days[std::size(more_days) - 1]);
        if (!longer) break;
        look(q, longer->room.problem.horizon_end, *longer);
        if (longer->first.kind == Kind::Plan) {
            room = std::move(longer);
            said = std::move(again);
            continue;
        }
        room->first = longer->first;
        room->looked_until = longer->looked_until;
        room->for_good = longer->for_good;
    }
    how.days = days;
    how.late_coats = false;
    if (room && q.midday && room->first.kind != Kind::Plan)
        allow_missed_limits(q, how, diagnostics, *room, said);
    if (room && room->first.kind == Kind::Plan) mix_as_posted(q, diagnostics, *room);
    diagnostics = std::move(said);
    return room;
}

std::optional<RoomOfPlan> compiled_again(const Question& q, const compile::CompileOptions& how,
                                         model::Diagnostics& diagnostics) {
    return compiled(q, how, diagnostics);
}

std::string no_plan_words(const RoomOfPlan& room) {
    return no_plan_words(room, room.first);
}

std::string no_plan_words(const RoomOfPlan& room, const search::FirstAnswer& first) {
    using Kind = search::FirstAnswer::Kind;
    const std::string& name = room.room.problem.name;
    const std::string until = " until " + model::format_date(model::date_of(room.looked_until));
    switch (first.kind) {
        case Kind::Plan:
            return "no plan of " + name +
                   " that keeps these pins was found; without them there is one. Leave one out, or "
                   "search longer (--budget).";
        case Kind::Impossible:
            return "no plan exists for " + name + (room.for_good ? ". " : until + ". ") +
                   first.words +
                   " Let somebody else do it (`can`), change hours (`shifts`, `closed`) or sizes, "
                   "or put the order on hold (hold: yes in orders.csv).";
        case Kind::Horizon:
        case Kind::Material:
        case Kind::None:
            break;
    }
    return "no plan was found for " + name + until + ". " + first.words +
           " Change hours, limits or pots, or put the order on hold (hold: yes in orders.csv).";
}

}  // namespace sched::app
