#include <fmt/format.h>

#include <algorithm>

#include "sched/core/objective.hpp"
#include "sched/report/document/plan_document.hpp"
#include "sched/report/plan/break_lines.hpp"

namespace sched::report {

namespace {

bool holds(const std::vector<std::string>& list, const std::string& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
}

}  // namespace

std::vector<std::string> contradictions(const PlanDocument& document) {
    std::vector<std::string> out = break_contradictions(document);
    const core::Problem& problem = document.problem;
    const core::Schedule& schedule = document.schedule;
    if (document.operations.size() != schedule.placements.size()) {
        return {fmt::format("{} operations are listed, the schedule has {}",
                            document.operations.size(), schedule.placements.size())};
    }
    for (std::size_t i = 0; i < schedule.placements.size(); ++i) {
        const OperationLine& line = document.operations[i];
        const core::Placement& at = schedule.placements[i];
        if (line.start != at.start || line.work_end != at.work_end || line.end != at.end) {
            out.push_back(
                fmt::format("{}: the listed times are not those of the schedule", line.words));
        }
        std::size_t named = line.people.size() + line.also_at.size() + (line.place.empty() ? 0 : 1);
        for (const core::ResourceId id : at.chosen) {
            const std::string& name = problem.resources[id.index()].name;
            if (line.place != name && !holds(line.people, name) && !holds(line.also_at, name)) {
                out.push_back(
                    fmt::format("{}: the schedule uses {}, the list does not", line.words, name));
            }
        }
        if (named != at.chosen.size()) {
            out.push_back(fmt::format("{}: the list names {} places and people, the schedule {}",
                                      line.words, named, at.chosen.size()));
        }
    }
    const auto done = core::completions(problem, schedule);
    if (document.orders.size() != done.size()) {
        out.push_back(fmt::format("{} orders are listed, the problem has {}",
                                  document.orders.size(), done.size()));
        return out;
    }
    for (std::size_t i = 0; i < done.size(); ++i) {
        const OrderLine& line = document.orders[i];
        if (line.ready != done[i] || line.due != problem.orders[i].due) {
            out.push_back(
                fmt::format("order {}: ready or due time is not that of the schedule", line.name));
        }
    }
    const core::Value value = core::evaluate(problem, schedule);
    for (std::size_t i = 0; i < value.parts.size(); ++i) {
        if (i >= document.aims.size() || document.aims[i].value != value.parts[i]) {
            out.push_back("the value of " + core::words(problem.objective[i]) +
                          " is not that of the schedule");
        }
    }
    return out;
}

}  // namespace sched::report
