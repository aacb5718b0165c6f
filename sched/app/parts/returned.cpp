#include "sched/app/parts/returned.hpp"

#include <algorithm>

#include "sched/advise/fill_in.hpp"
#include "sched/app/parts/pinned.hpp"
#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"

namespace sched::app {

core::SimTime end_of_run(const compile::RoomProblem& room, const core::Schedule& schedule) {
    const core::Problem& p = room.problem;
    core::SimTime end = p.horizon_start;
    for (std::size_t i = 0; i < p.operations.size(); ++i)
        end = std::max(end, core::completion(p.operations[i], schedule.placements[i]));
    const core::SimTime next_day =
        model::midnight(model::date_of(p.horizon_start)) + std::chrono::days{1};
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        if (room.resources[r].kind != compile::ResourceKind::Person) continue;
        for (const core::Window& w : p.resources[r].calendar.value_or(core::Calendar{})) {
            if (w.from >= next_day) continue;
            core::SimTime regular = w.to;
            for (const core::OvertimeWindow& o : p.overtime) {
                if (o.resource.index() == r && o.window.from >= w.from && o.window.from < w.to)
                    regular = std::min(regular, o.window.from);
            }
            end = std::max(end, regular);
        }
    }
    return end;
}

compile::BegunReturns begun_returns(const Question& question) {
    compile::BegunReturns out;
    if (!question.midday || !question.midday->posted) return out;
    const report::PlanDocument& d = *question.midday->posted;
    for (std::size_t i = 0; i < d.operations.size(); ++i) {
        const report::OperationLine& line = d.operations[i];
        if (!d.problem.operations[i].filler || line.start >= question.midday->now) continue;
        const bool ink = line.step == "ink-off" || line.step == "ink-degrease";
        auto& part = out[line.screen];
        part = std::max(part, ink ? 1 : 2);
    }
    return out;
}

FilledPlan fill_returns(const std::vector<std::string>& pins, const model::Scenario& scenario,
                        const compile::CompileOptions& options, const compile::RoomProblem& room,
                        const core::Solution& solution, const compile::BegunReturns& begun) {
    const core::SimTime until = end_of_run(room, *solution.schedule);
    FilledPlan out{
        compile::with_returns(scenario, options, room, until, nullptr, begun), {}, solution};
    out.pinned = with_pins(pins, out.room);
    std::vector<search::Filler> fillers;
    for (const compile::ReturnInfo& x : out.room.returns)
        fillers.push_back(x.parts);
    auto filled = search::fill_in(out.pinned, *solution.schedule, fillers, until);
    const auto only = [&](const std::vector<std::size_t>& parts) {
        out.room = compile::with_returns(scenario, options, room, until, &parts, begun);
        out.pinned = with_pins(pins, out.room);
    };
    only(filled.parts);
    if (!check::check(out.pinned, filled.schedule).empty()) {
        // A pin that the fillers cannot keep: the run is worth more than the store.
        std::fill(filled.parts.begin(), filled.parts.end(), std::size_t{0});
        filled.schedule = *solution.schedule;
        only(filled.parts);
    }
    out.solution.schedule = std::move(filled.schedule);
    out.solution.value = core::evaluate(out.room.problem, *out.solution.schedule);
    return out;
}

}  // namespace sched::app
