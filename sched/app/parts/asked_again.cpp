// Compiles the scenario as the document says it was compiled (day, kind of day, breaks), puts the
// document's operations on that problem as a schedule, writes the document anew and compares the
// two list by list; idle-time work of returned frames is matched by its parts.

#include "sched/app/parts/asked_again.hpp"

#include <algorithm>
#include <chrono>

#include "sched/app/parts/returned.hpp"
#include "sched/core/objective.hpp"
#include "sched/core/pauses.hpp"

namespace sched::app {

namespace {

// Ink off is one part of a returned frame's way, all behind it another.
std::vector<std::size_t> parts_of(const report::PlanDocument& document) {
    std::vector<std::size_t> parts;
    for (const report::ReturnLine& line : document.returns) {
        const auto has = [&](const char* step) {
            return std::any_of(
                document.operations.begin(), document.operations.end(),
                [&](const auto& op) { return op.screen == line.tag && op.step == step; });
        };
        parts.push_back((has("ink-off") ? 1U : 0U) + (has("strip") ? 1U : 0U));
    }
    return parts;
}

void compare_problems(const core::Problem& asked, const core::Problem& given,
                      std::vector<std::string>& out) {
    const auto differs = [&](bool same, const char* what) {
        if (!same) out.push_back(std::string("the embedded problem has other ") + what);
    };
    differs(asked.resources == given.resources, "places, people or hours than the room");
    differs(asked.stores == given.stores, "pots than the room");
    differs(asked.orders == given.orders && asked.jobs == given.jobs, "orders than orders.csv");
    differs(asked.operations == given.operations, "steps than the room asks for");
    differs(asked.constraints == given.constraints, "limits than the room");
    differs(asked.objective == given.objective && asked.overtime == given.overtime,
            "aims than the room");
    differs(asked.pauses == given.pauses, "breaks than the room");
    if (out.empty() && asked != given) out.emplace_back("the embedded problem is another one");
}

// What a simulation added afterwards is taken over.
void take_over_studies(const report::PlanDocument& from, report::PlanDocument& to) {
    for (std::size_t i = 0; i < from.operations.size() && i < to.operations.size(); ++i) {
        to.operations[i].turn = from.operations[i].turn;  // judged by itself
        to.operations[i].start_p10 = from.operations[i].start_p10;
        to.operations[i].start_p90 = from.operations[i].start_p90;
        to.operations[i].work_end_p10 = from.operations[i].work_end_p10;
        to.operations[i].work_end_p90 = from.operations[i].work_end_p90;
    }
    for (std::size_t i = 0; i < from.orders.size() && i < to.orders.size(); ++i) {
        to.orders[i].chance_late = from.orders[i].chance_late;
        to.orders[i].ready_p10 = from.orders[i].ready_p10;
        to.orders[i].ready_p50 = from.orders[i].ready_p50;
        to.orders[i].ready_p90 = from.orders[i].ready_p90;
    }
}

core::Solution solution_of(const report::PlanDocument& document, const core::Problem& problem) {
    core::Solution solution;
    solution.status = document.status == "optimal" ? core::Status::Optimal : core::Status::Feasible;
    solution.schedule = document.schedule;
    solution.value = core::evaluate(problem, document.schedule);
    for (const report::AimLine& aim : document.aims) {
        if (!aim.bound) break;
        solution.bound.parts.push_back(*aim.bound);
    }
    return solution;
}

// The scenario's problem with the returned frames that the document has; none, and the reason in
// `wrong`, where it is another one at first sight.
std::optional<compile::RoomProblem> asked(const report::PlanDocument& document,
                                          const model::Scenario& scenario, bool late_coats,
                                          std::vector<std::string>& wrong) {
    const auto days =
        std::chrono::duration_cast<std::chrono::days>(document.run.until - document.run.from);
    compile::CompileOptions how{.start = document.run.from,
                                .days = static_cast<int>(days.count()),
                                .day_kind = document.run.day.value_or(""),
                                .pauses = document.problem.pauses,
                                .late_coats = late_coats};
    for (const report::MixLine& mix : document.mixes)
        ++how.mixes[mix.emulsion];
    how.no_more_mixes = how.mixes;
    model::Diagnostics diagnostics;
    auto room = compile::compile_room(scenario, how, diagnostics);
    if (!room) {
        wrong.emplace_back("the scenario cannot be planned");
        return std::nullopt;
    }
    core::Schedule run = document.schedule;
    if (run.placements.size() < room->problem.operations.size()) {
        wrong.emplace_back("the plan has fewer steps than the scenario asks for");
        return std::nullopt;
    }
    run.placements.resize(room->problem.operations.size());
    const auto until = end_of_run(*room, run);
    const auto parts = parts_of(document);
    if (compile::with_returns(scenario, how, *room, until).returns.size() != parts.size()) {
        wrong.emplace_back("the plan has other returned frames than frames.csv");
        return std::nullopt;
    }
    return compile::with_returns(scenario, how, std::move(*room), until, &parts);
}

}  // namespace

std::vector<std::string> otherwise_asked(const report::PlanDocument& document,
                                         const model::Scenario& scenario) {
    // Whether it was asked not to count on pots that end is not written down: one of the two.
    std::vector<std::string> out;
    std::optional<compile::RoomProblem> filled;
    for (const bool late_coats : {false, true}) {
        std::vector<std::string> wrong;
        filled = asked(document, scenario, late_coats, wrong);
        if (filled) compare_problems(filled->problem, document.problem, wrong);
        if (!late_coats || wrong.empty()) out = std::move(wrong);
        if (out.empty()) break;
    }
    if (!out.empty()) return out;
    report::PlanFacts facts{.inputs = document.inputs, .seed = document.run.seed};
    const std::string program = "coatroom ";
    if (document.program.starts_with(program))
        facts.version = document.program.substr(program.size());
    auto again = report::make_plan_document(scenario, *filled,
                                            solution_of(document, filled->problem), facts);
    take_over_studies(document, again);
    const auto differs = [&](bool same, const char* what) {
        if (!same) out.push_back(std::string(what) + " come out otherwise from the same schedule");
    };
    differs(again.room == document.room && again.invented == document.invented &&
                again.program == document.program,
            "room and program");
    differs(again.aims == document.aims, "the aims");
    differs(again.stations == document.stations && again.people == document.people,
            "stations or people");
    differs(again.breaks == document.breaks, "the breaks");
    differs(again.screens == document.screens, "the screens");
    differs(again.orders == document.orders, "the orders or their reasons");
    differs(again.operations == document.operations, "the operations");
    differs(again.loads == document.loads, "the loads");
    differs(again.fills == document.fills, "the fills");
    differs(again.mesh_choices == document.mesh_choices, "the meshes chosen");
    differs(again.mixes == document.mixes, "the mixes");
    differs(again.reclaims == document.reclaims, "the reclaims");
    differs(again.returns == document.returns, "the returned frames");
    differs(again.stock_after == document.stock_after, "the frames left");
    differs(again.cautions == document.cautions, "the cautions");
    return out;
}

}  // namespace sched::app
