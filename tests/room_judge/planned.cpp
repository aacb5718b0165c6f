#include "tests/room_judge/planned.hpp"

#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/returned.hpp"
#include "sched/check/checker.hpp"
#include "sched/check/room/judge.hpp"

namespace planned {

using namespace sched;

Planned plan(const app::Question& question) {
    Planned out;
    model::Diagnostics diagnostics;
    const auto room = app::room_of(question, diagnostics);
    out.sound = room.has_value();
    if (!room) {
        for (const auto& d : diagnostics.all()) {
            if (d.severity == model::Severity::Error) out.why_none = "unsound: " + d.message;
        }
        return out;
    }
    const bool exists = room->first.kind == search::FirstAnswer::Kind::Plan;
    if (!exists) out.why_none = app::no_plan_words(*room);
    if (!exists && !question.midday) return out;
    const auto found = app::find_plan(question, *room, room->room.problem, question.how);
    if (!found.solution.schedule) {
        if (found.in_the_way) out.why_none = app::no_plan_words(*room, *found.in_the_way);
        return out;
    }
    for (const auto& v : check::check(found.room.problem, *found.solution.schedule))
        out.broken.push_back(v.words);
    const auto filled = app::fill_returns({}, question.scenario, found.how, found.room,
                                          found.solution, app::begun_returns(question));
    for (const auto& v : check::check(filled.room.problem, *filled.solution.schedule))
        out.broken.push_back(v.words);
    out.plan = report::make_plan_document(
        question.scenario, filled.room, filled.solution,
        {.version = "test", .seed = question.how.seed, .diagnostics = diagnostics.all()});
    app::say_changes(question, *room, found, *out.plan);
    out.room = found.room;
    out.how = found.how;
    out.schedule = *found.solution.schedule;
    return out;
}

Planned plan(const model::Scenario& scenario, model::SimTime start, std::int64_t evaluations,
             std::uint64_t seed) {
    app::Question question{.scenario = scenario, .start = start};
    question.how.threads = 1;
    question.how.seed = seed;
    question.how.budget.evaluations = evaluations;
    return plan(question);
}

std::vector<std::string> verdict(const report::PlanDocument& plan,
                                 const model::Scenario& scenario) {
    std::vector<std::string> out;
    for (const auto& f : check::room::judge_document(plan))
        out.push_back("document " + f.rule + ": " + f.words);
    for (const auto& f : check::room::judge_room(plan, scenario))
        out.push_back(f.rule + ": " + f.words);
    return out;
}

}  // namespace planned
