// How it works: the problem of the day is put together part by part: resources, stores and
// orders as planned, those that come in besides, then the operations of the run that take place
// and a spare way for each remake, copy and rush order. Calendars lose what fails or is absent,
// works get their factors. What has begun keeps what it has lasted and varies only in what is
// left of it.

#include "sched/simulate/realise.hpp"

#include <algorithm>

#include "sched/engine/assembly.hpp"
#include "sched/engine/remaining_problem.hpp"

namespace sched::study {

using core::OperationId;
using core::Seconds;
using core::SimTime;
using engine::Draws;

namespace {

/// Calls visit(id&) for every operation that the constraint names.
template <class Constraint, class Visit>
void for_operations(Constraint& constraint, Visit visit) {
    std::visit(
        [&](auto& c) {
            using T = std::decay_t<decltype(c)>;
            if constexpr (std::is_same_v<T, core::TimeLag>) {
                visit(c.from);
                visit(c.to);
            } else if constexpr (std::is_same_v<T, core::SameMode> ||
                                 std::is_same_v<T, core::SameResource>) {
                visit(c.a);
                visit(c.b);
            } else {
                static_assert(std::is_same_v<T, core::StartWindow> ||
                              std::is_same_v<T, core::Take> || std::is_same_v<T, core::Give>);
                visit(c.operation);
            }
        },
        constraint);
}

void cut_window(core::Calendar& calendar, SimTime from, SimTime to) {
    core::Calendar rest;
    for (const auto& w : calendar) {
        if (to <= w.from || w.to <= from) {
            rest.push_back(w);
            continue;
        }
        if (w.from < from) rest.push_back({w.from, from});
        if (to < w.to) rest.push_back({to, w.to});
    }
    calendar = std::move(rest);
}

}  // namespace

core::Seconds real_work(core::Seconds planned, double factor) {
    return Seconds{engine::scaled_work(planned.count(), factor)};
}

void apply_factor(Reality& reality, std::size_t operation) {
    double& factor = reality.factor[operation];
    for (auto& mode : reality.problem.operations[operation].modes) {
        if (mode.stages.empty()) mode.work = real_work(mode.work, factor);
        for (auto& stage : mode.stages)
            stage.work *= factor;
    }
    factor = 1.0;
}

void apply_factors(Reality& reality) {
    for (std::size_t i = 0; i < reality.factor.size(); ++i)
        apply_factor(reality, i);
}

Realiser::Realiser(const model::Scenario& scenario, const compile::RoomProblem& room,
                   const Chance& chance)
    : room_(room),
      disturbances_(scenario, room, chance),
      begun_end_(engine::ends_of_work(room.problem)) {
    const std::size_t n = room.problem.operations.size();
    way_first_.assign(n, -1);
    spare_constraints_.resize(n);
    const auto mark = [&](int first, int count) {
        std::fill_n(way_first_.begin() + first, count, first);
    };
    for (const auto& spare : room.spare)
        mark(spare.first, spare.count);
    spare_store_.assign(room.problem.stores.size(), 0);
    for (const auto& emulsion : room.spare_emulsions) {
        for (const auto& mix : emulsion.mixes) {
            mark(mix.first, mix.count);
            spare_store_[mix.store.index()] = 1;
        }
    }
    for (std::size_t c = 0; c < room.problem.constraints.size(); ++c) {
        int way = -1;
        for_operations(room.problem.constraints[c],
                       [&](const OperationId& id) { way = way_first_[id.index()]; });
        auto& list = way < 0 ? run_constraints_ : spare_constraints_[static_cast<std::size_t>(way)];
        list.push_back(static_cast<int>(c));
    }
}

// A part of a spare way: its operations lie from `begin` on.
void Realiser::add_part(Reality& reality, const DayPart& part, int begin) const {
    core::Problem& p = reality.problem;
    const auto way = static_cast<std::size_t>(way_first_[static_cast<std::size_t>(part.first)]);
    for (const int c : spare_constraints_[way]) {
        auto constraint = room_.problem.constraints[static_cast<std::size_t>(c)];
        bool inside = true;
        for_operations(constraint, [&](OperationId& id) {
            inside = inside && id.value >= part.first && id.value < part.first + part.count;
            id = OperationId{id.value - part.first + begin};
        });
        if (!inside) continue;
        if (auto* give = std::get_if<core::Give>(&constraint)) give->amount = part.volume;
        p.constraints.push_back(std::move(constraint));
    }
}

// What is over is over. Attended work under way has lasted till now: its factor is drawn among
// those with which it has (Random variation::factor_beyond), so what is left follows the law of the
// remaining time. Where somebody said when it ends, only what is left of that varies. What dries
// has been drying with its factor all along; nobody has felt whether it is dry.
void Realiser::add_begun(Reality& reality, const std::vector<int>& place,
                         const Draws& draws) const {
    const core::Problem& nominal = room_.problem;
    const SimTime now = *nominal.now;
    core::Problem& p = reality.problem;
    p.now = now;
    for (std::size_t k = 0; k < nominal.begun.size(); ++k) {
        core::Begun b = nominal.begun[k];
        const std::size_t of = b.operation.index();
        if (place[of] < 0) continue;
        const auto i = static_cast<std::size_t>(place[of]);
        b.operation = OperationId{i};
        const auto& mode = nominal.operations[of].modes[static_cast<std::size_t>(b.mode)];
        double& factor = reality.factor[i];
        if (begun_end_[k] && *begun_end_[k] <= now) {
            if (mode.stages.empty()) b.work_end = begun_end_[k];
        } else if (b.work_end) {
            b.work_end = now + real_work(*b.work_end - now, factor);
        } else if (mode.stages.empty()) {
            const Seconds lasted = engine::worked_by_now(nominal, nominal.begun[k]);
            if (real_work(mode.work, factor) <= lasted && mode.work.count() > 0)
                factor = disturbances_.factor_beyond(
                    static_cast<int>(of),
                    static_cast<double>(lasted.count()) / static_cast<double>(mode.work.count()),
                    draws);
            if (real_work(mode.work, factor) <= lasted) b.work_end = now + Seconds{1};
        }
        p.begun.push_back(std::move(b));
    }
}

Reality Realiser::build(const DayDisturbances& disturbances, const Draws& draws) const {
    Reality reality;
    core::Problem& p = reality.problem;
    const core::Problem& nominal = room_.problem;
    p.name = nominal.name;
    p.horizon_start = nominal.horizon_start;
    p.horizon_end = nominal.horizon_end;
    p.resources = nominal.resources;
    p.stores = nominal.stores;
    p.orders = nominal.orders;
    p.jobs = nominal.jobs;
    p.objective = nominal.objective;
    p.overtime = nominal.overtime;
    reality.planned_orders = static_cast<int>(p.orders.size());
    reality.copies = disturbances.copies;
    reality.remakes = disturbances.remakes;
    reality.failures = disturbances.failures;
    reality.absences = disturbances.absences;
    reality.late_films = disturbances.late_films;
    for (const auto& o : disturbances.orders) {
        const std::string name =
            o.like >= 0 ? p.orders[static_cast<std::size_t>(o.like)].name + " once more"
                        : "rush " + std::to_string(o.number);
        p.orders.push_back({.name = name, .release = o.release, .due = o.due, .weight = o.weight});
    }
    for (const auto& j : disturbances.jobs) {
        const auto& order = p.orders[static_cast<std::size_t>(j.order)];
        const std::string name =
            j.number > 0 ? order.name + "-" + std::to_string(j.number)
                         : room_.screens[static_cast<std::size_t>(j.screen)].tag + " once more";
        p.jobs.push_back({.name = name, .order = core::OrderId{j.order}});
    }
    for (const auto& opened : disturbances.opened)
        p.stores[opened.store.index()].initial = opened.volume;

    std::vector<int> begin;  // per part
    std::vector<int> place(nominal.operations.size(), -1);
    for (const DayPart& part : disturbances.parts) {
        begin.push_back(static_cast<int>(p.operations.size()));
        for (int i = part.first; i < part.first + part.count; ++i) {
            if (part.round == 0)
                place[static_cast<std::size_t>(i)] = static_cast<int>(p.operations.size());
            p.operations.push_back(nominal.operations[static_cast<std::size_t>(i)]);
            p.operations.back().job = part.job >= 0 ? core::JobId{part.job} : core::JobId::none();
            reality.factor.push_back(disturbances_.factor(i, part.attempt, draws));
            reality.nominal.push_back(i);
            reality.attempt.push_back(part.round);
        }
    }
    if (nominal.now) add_begun(reality, place, draws);
    p.constraints.reserve(run_constraints_.size() + 64);
    for (const int c : run_constraints_) {
        auto constraint = nominal.constraints[static_cast<std::size_t>(c)];
        bool inside = true;
        for_operations(constraint, [&](OperationId& id) {
            const int at = place[id.index()];
            inside = inside && at >= 0;
            id = OperationId{at};
        });
        if (inside) p.constraints.push_back(std::move(constraint));
    }
    std::vector<char> open(p.stores.size(), 1);
    for (std::size_t s = 0; s < open.size(); ++s)
        open[s] = !spare_store_[s] || p.stores[s].initial > 0;
    for (std::size_t k = 0; k < disturbances.parts.size(); ++k) {
        const DayPart& part = disturbances.parts[k];
        if (part.round == 0) continue;
        const std::size_t added = p.constraints.size();
        add_part(reality, part, begin[k]);
        for (std::size_t c = added; c < p.constraints.size(); ++c) {
            if (const auto* give = std::get_if<core::Give>(&p.constraints[c]))
                open[give->store.index()] = 1;
        }
        const OperationId first{begin[k]};
        if (part.after >= 0) {
            const DayPart& before = disturbances.parts[static_cast<std::size_t>(part.after)];
            const OperationId last{begin[static_cast<std::size_t>(part.after)] + before.count - 1};
            p.constraints.push_back(core::TimeLag{.from = last, .to = first});
        }
        if (part.release && part.job < 0)
            p.constraints.push_back(
                core::StartWindow{.operation = first, .not_before = *part.release});
    }
    // Pots that nobody opened are none.
    for (auto& c : p.constraints) {
        if (auto* take = std::get_if<core::Take>(&c))
            std::erase_if(take->any_of, [&](core::StoreId s) { return !open[s.index()]; });
    }
    reality.unplanned.assign(p.operations.size(), 0);
    for (const auto& c : disturbances.closed) {
        auto& calendar = p.resources[static_cast<std::size_t>(c.resource)].calendar;
        if (!calendar) calendar = core::Calendar{{p.horizon_start, p.horizon_end}};
        cut_window(*calendar, c.from, c.to);
    }
    for (const auto& late : disturbances.late) {
        const OperationId op{place[static_cast<std::size_t>(late.operation)]};
        for (auto& c : p.constraints) {
            auto* window = std::get_if<core::StartWindow>(&c);
            if (window != nullptr && window->operation == op && window->not_before)
                *window->not_before += late.by;
        }
        // From here on the screen has lost its turn.
        const core::JobId job = p.operations[op.index()].job;
        for (std::size_t i = op.index();
             i < p.operations.size() && reality.attempt[i] == 0 && p.operations[i].job == job; ++i)
            reality.unplanned[i] = 1;
    }
    return reality;
}

Reality Realiser::realise(const Draws& draws, double volume) const {
    DayDisturbances disturbances;
    disturbances_.draw(draws, volume, disturbances);
    return build(disturbances, draws);
}

}  // namespace sched::study
