// An enquiry planned into the room: what is promised keeps the slack that luck needs, then the
// enquiry is ready as soon as it can be.

#include <algorithm>
#include <limits>

#include "sched/core/objective.hpp"
#include "sched/search/floor_search.hpp"
#include "sched/search/replan.hpp"
#include "sched/study/promise_inside.hpp"

namespace sched::study::promising {

using core::SimTime;

namespace {

/// Moves of the promised ones by less than that are no harm: the drying of one more screen shifts
/// everybody by seconds.
constexpr core::Seconds ease = model::minutes(10);

/// After what is promised (tardiness, late orders), before finish, holding and the rest.
std::size_t after_promises(const core::Problem& problem) {
    std::size_t place = 0;
    for (std::size_t k = 0; k < problem.objective.size(); ++k) {
        const auto c = problem.objective[k];
        if (c == core::Criterion::WeightedTardiness || c == core::Criterion::LateOrders)
            place = k + 1;
    }
    return place;
}

/// The problem as it is searched: dues are what protects, the enquiry has none.
core::Problem with_protection(const PromiseDesk::Inside& desk, const core::Problem& problem,
                              const InsertHow& how) {
    core::Problem p = problem;
    for (std::size_t o = 0; o + 1 < p.orders.size(); ++o) {
        if (static_cast<int>(o) == how.displaced) {
            p.orders[o].due = std::nullopt;
        } else {
            p.orders[o].due = (how.strict ? desk.planned[o] : desk.protected_by[o]) + ease;
        }
    }
    if (std::find(p.objective.begin(), p.objective.end(), core::Criterion::WeightedTardiness) ==
        p.objective.end()) {
        p.objective.insert(p.objective.begin(), core::Criterion::WeightedTardiness);
    }
    return p;
}

/// The earlier plan with the enquiry's operations all due to start at `at`.
core::Schedule laid_out(const core::Problem& problem, const search::EarlierPlan& earlier,
                        std::size_t enquiry, SimTime at, int displaced, SimTime displaced_to) {
    core::Schedule s;
    s.placements.resize(problem.operations.size());
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        auto& p = s.placements[i];
        const auto& operation = problem.operations[i];
        const int order =
            operation.job.valid() ? problem.jobs[operation.job.index()].order.value : -1;
        if (earlier[i] && order != static_cast<int>(enquiry)) {
            p = *earlier[i];
            if (order >= 0 && order == displaced) p.start = std::max(p.start, displaced_to);
            continue;
        }
        p.start = p.work_end = p.end = order < 0 ? problem.horizon_start : at;
        for (const auto& need : operation.modes.front().needs)
            p.chosen.push_back(need.any_of.front());
    }
    return s;
}

}  // namespace

SimTime completion_of(const core::Problem& problem, const core::Schedule& schedule,
                      std::size_t order) {
    return core::completions(problem, schedule)[order].value_or(problem.horizon_start);
}

model::Scenario scenario_with(const model::Scenario& scenario, const Enquiry& enquiry,
                              SimTime far) {
    model::Scenario with = scenario;
    for (const auto& order : with.orders)
        far = std::max(far, order.due + model::minutes(1));
    with.orders.push_back({.name = enquiry.name,
                           .customer = enquiry.customer,
                           .due = far,
                           .priority = enquiry.priority,
                           .lines = enquiry.lines});
    return with;
}

std::optional<PromiseDesk::Planned> insert(const PromiseDesk::Inside& desk, model::Scenario with,
                                           const InsertHow& how, std::string& why) {
    model::Diagnostics diagnostics;
    PromiseDesk::Planned out;
    out.scenario = std::move(with);
    auto compiled = compile::compile_room(out.scenario, desk.options.compile, diagnostics);
    if (!compiled) {
        for (const auto& d : diagnostics.all()) {
            if (d.severity != model::Severity::Error) continue;
            why = d.message + (d.hint.empty() ? "" : " " + d.hint);
            break;
        }
        return std::nullopt;
    }
    out.room = *std::move(compiled);
    const std::size_t enquiry = out.room.problem.orders.size() - 1;
    auto& own = out.room.problem.orders[enquiry];
    own.due = std::nullopt;
    own.release = std::max(own.release, desk.asked);
    const core::Problem searched = with_protection(desk, out.room.problem, how);

    search::EarlierPlan earlier(searched.operations.size());
    if (desk.solution.schedule) {
        earlier = search::match_by_name(desk.room.problem, *desk.solution.schedule, searched);
    }
    // Its operations, for how far along it is.
    std::vector<std::size_t> mine;
    for (std::size_t i = 0; i < searched.operations.size(); ++i) {
        const auto job = searched.operations[i].job;
        if (job.valid() && searched.jobs[job.index()].order.index() == enquiry) mine.push_back(i);
    }
    if (mine.empty()) {
        why = "there is nothing to do for it.";
        return std::nullopt;
    }
    std::vector<SimTime> starts;
    for (const auto& p : earlier) {
        if (p) starts.push_back(p->start);
    }
    std::sort(starts.begin(), starts.end());

    const engine::CompiledProblem engine_problem(searched);
    search::FloorGuide guide;
    const auto begin_at = [&](SimTime at) {
        const SimTime behind = how.displaced < 0 ? at : SimTime::max() - std::chrono::days{1};
        auto s = search::sequence_of(
            engine_problem, laid_out(searched, earlier, enquiry, at, how.displaced, behind), false);
        for (const std::size_t i : mine) {
            s.mode[i] = -1;
            s.delay[i] = 0;
        }
        guide.first.push_back(std::move(s));
    };
    if (how.from != nullptr) {
        // What the enquiry's own plan does, with another order behind it or not.
        const auto known =
            search::match_by_name(how.from->room.problem, *how.from->solution.schedule, searched);
        for (const bool displaced : {false, true}) {
            if (displaced && how.displaced < 0) continue;
            guide.first.push_back(search::sequence_of(
                engine_problem,
                laid_out(searched, known, searched.orders.size(), searched.horizon_start,
                         displaced ? how.displaced : -1, SimTime::max() - std::chrono::days{1}),
                false));
        }
    }
    // Behind everything, first of all, and in between.
    begin_at(searched.horizon_end);
    begin_at(searched.horizon_start);
    constexpr std::size_t between = 6;
    for (std::size_t k = 1; k <= between && !starts.empty(); ++k)
        begin_at(starts[(starts.size() - 1) * k / (between + 1)]);
    guide.place = after_promises(searched);
    guide.count = [&mine, &searched](const engine::FlatSchedule& f) {
        engine::Tick last = std::numeric_limits<engine::Tick>::min();
        for (const std::size_t i : mine)
            last = std::max(last, searched.operations[i].max_stretch ? f.end[i] : f.work_end[i]);
        return static_cast<std::int64_t>(last);
    };
    search::SearchOptions options;
    options.budget.evaluations = how.evaluations;
    options.seed = desk.options.seed;
    options.stop = desk.options.stop;
    out.solution = search::search_floor(searched, options, guide);
    if (!out.solution.schedule) {
        why = "no plan was found within " + std::to_string(desk.options.compile.days) + " days.";
        return std::nullopt;
    }
    out.solution.value = core::evaluate(out.room.problem, *out.solution.schedule);
    out.solution.bound = {};
    return out;
}

}  // namespace sched::study::promising
