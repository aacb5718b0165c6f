// The kinds of days that may come (usual, damp), each with its compiled room, and one day of them
// simulated: random variation is drawn, the policy executes it, what it did is measured.

#include "sched/simulate/day_rooms.hpp"

#include <algorithm>

#include "sched/core/calendar.hpp"
#include "sched/core/index.hpp"
#include "sched/simulate/begun_day.hpp"
#include "sched/simulate/enough_pots.hpp"

namespace sched::study {

using core::SimTime;
using engine::Tick;

namespace {

/// When the room is open on the first day: from the first to the last moment somebody is there.
core::Window opening_hours(const compile::RoomProblem& room) {
    const core::Problem& p = room.problem;
    const SimTime day_end = p.horizon_start + std::chrono::days{1};
    core::Window open{day_end, p.horizon_start};
    for (std::size_t r = 0; r < room.resources.size(); ++r) {
        const auto& calendar = p.resources[r].calendar;
        if (room.resources[r].kind != compile::ResourceKind::Person || !calendar) continue;
        for (const auto& w : *calendar) {
            if (w.from >= day_end) break;
            open.from = std::min(open.from, w.from);
            open.to = std::max(open.to, std::min(w.to, day_end));
        }
    }
    if (open.from >= open.to) return {p.horizon_start, day_end};
    return open;
}

/// Capacity-seconds within [from, to) of every resource. A batch counts once at its place, and with
/// whoever minds it.
void measure_use(const engine::CompiledProblem& p, const engine::FlatSchedule& s, Tick from,
                 Tick to, std::vector<std::pair<std::int32_t, std::int32_t>>& counted,
                 Replication& out) {
    const std::size_t count = p.resources.size();
    out.working.assign(count, 0);
    out.allocated.assign(count, 0);
    out.open.assign(count, 0);
    for (std::size_t r = 0; r < count; ++r) {
        const auto& resource = p.resources[r];
        Tick open = resource.has_calendar ? 0 : to - from;
        for (std::int32_t w = resource.windows.begin; w < resource.windows.end; ++w) {
            const auto& window = p.windows[static_cast<std::size_t>(w)];
            open += core::overlap(window.from, window.to, from, to);
        }
        out.open[r] = open * resource.capacity;
    }
    counted.clear();
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const auto& o = p.operations[i];
        const auto ns = p.modes[static_cast<std::size_t>(o.modes.begin + s.mode[i])].needs;
        for (std::int32_t n = 0; n < ns.size(); ++n) {
            const std::int32_t r = s.chosen[static_cast<std::size_t>(o.chosen + n)];
            const auto& resource = p.resources[static_cast<std::size_t>(r)];
            if (s.batch[i] >= 0 && (resource.has_batch || resource.capacity == 1)) {
                const std::pair<std::int32_t, std::int32_t> batch{s.batch[i], r};
                if (std::find(counted.begin(), counted.end(), batch) != counted.end()) continue;
                counted.push_back(batch);
            }
            const auto& need = p.needs[static_cast<std::size_t>(ns.begin + n)];
            const Tick last = need.whole ? s.end[i] : s.work_end[i];
            out.working[static_cast<std::size_t>(r)] +=
                need.amount * core::overlap(s.start[i], s.work_end[i], from, to);
            out.allocated[static_cast<std::size_t>(r)] +=
                need.amount * core::overlap(s.start[i], last, from, to);
        }
    }
}

std::size_t day_of(const std::vector<std::unique_ptr<DayRoom>>& days, const engine::Draws& draws) {
    if (days.size() == 1) return 0;
    double total = 0.0;
    for (const auto& d : days)
        total += d->weight;
    double u = total * draws.uniform({engine::name_key("weather"), 0, 0, 0});
    for (std::size_t d = 0; d < days.size(); ++d) {
        if (u < days[d]->weight) return d;
        u -= days[d]->weight;
    }
    return days.size() - 1;
}

void measure(const engine::CompiledProblem& p, const engine::FlatSchedule& schedule,
             std::size_t planned_orders, const DayRoom& day, bool use, DayRooms::Worker& worker,
             Replication& out) {
    const Tick start = p.horizon_start;
    auto& done = worker.done;
    done.assign(p.order_due.size(), start);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const auto& o = p.operations[i];
        if (o.order < 0) continue;
        const Tick end = o.stretch < engine::never ? schedule.end[i] : schedule.work_end[i];
        Tick& order = done[static_cast<std::size_t>(o.order)];
        order = std::max(order, end);
    }
    for (std::size_t o = 0; o < done.size(); ++o) {
        if (o < planned_orders) {
            out.ready.push_back(done[o] - start);
            out.last_ready = std::max(out.last_ready, out.ready.back());
        } else {
            out.rush_late += done[o] > p.order_due[o] ? 1 : 0;
        }
    }
    const auto tick = [](SimTime t) { return t.time_since_epoch().count(); };
    if (use)
        measure_use(p, schedule, tick(day.hours.from), tick(day.hours.to), worker.counted, out);
}

// The run's parts come first in a day, in the order in which a kit and a realiser place them.
void keep_times(const DayDisturbances& disturbances, const engine::FlatSchedule& schedule,
                Tick start, int run_operations, Replication& out) {
    out.begun.assign(static_cast<std::size_t>(run_operations), -1);
    out.done = out.begun;
    std::size_t op = 0;
    for (const DayPart& part : disturbances.parts) {
        for (int i = part.first; i < part.first + part.count; ++i, ++op) {
            if (part.round != 0) continue;
            out.begun[static_cast<std::size_t>(i)] =
                static_cast<std::int32_t>(schedule.start[op] - start);
            out.done[static_cast<std::size_t>(i)] =
                static_cast<std::int32_t>(schedule.work_end[op] - start);
        }
    }
}

}  // namespace

std::unique_ptr<DayRooms> DayRooms::make(const model::Scenario& scenario,
                                         const compile::CompileOptions& compile_options,
                                         const compile::RoomProblem& room,
                                         const core::Schedule* plan,
                                         const ReplicateOptions& options) {
    std::vector<DayKind> kinds = options.chance.days;
    if (kinds.empty()) kinds.push_back({compile_options.day_kind, 1.0});
    auto days = std::unique_ptr<DayRooms>(new DayRooms());
    for (const auto& kind : kinds) {
        auto day = std::make_unique<DayRoom>();
        day->kind = kind.name;
        day->weight = kind.weight;
        compile::CompileOptions longer = compile_options;
        longer.day_kind = kind.name;
        longer.spare_days = options.spare_days;
        longer.spare_ways = true;
        model::Diagnostics diagnostics;
        auto compiled = compile::compile_room(
            on_day(scenario, kind, longer.start, longer.days + longer.spare_days), longer,
            diagnostics);
        if (!compiled) return nullptr;
        day->room = *std::move(compiled);
        take_over_remaining(room.problem, day->room.problem);
        // Asked before anything begins: a whole day, and a kit simulates it several times as fast.
        const bool whole = !room.problem.now || (room.problem.begun.empty() &&
                                                 *room.problem.now <= room.problem.horizon_start);
        if (whole) day->room.problem.now.reset();
        // Whoever planned may have said that an order begins later than the scenario says.
        for (std::size_t o = 0; o < room.problem.orders.size(); ++o)
            day->room.problem.orders[o].release = room.problem.orders[o].release;
        if (options.change) options.change(day->room);
        day->realiser = std::make_unique<Realiser>(scenario, day->room, options.chance);
        if (plan != nullptr &&
            static_cast<int>(plan->placements.size()) != day->realiser->run_operations()) {
            return nullptr;  // a plan of something else
        }
        if (options.policy == "follow" && !options.turns.empty()) {
            if (static_cast<int>(options.turns.size()) != day->realiser->run_operations())
                return nullptr;
            day->policy = Policy::list(day->room, turns_of_room(day->room, options.turns));
        } else {
            day->policy = Policy::make(options.policy, day->room, plan, options.ranked_by);
        }
        if (!day->policy) return nullptr;
        if (whole) day->kit = DayKit::make(day->realiser->disturbances(), *day->policy);
        day->pots_end = mixed_on_demand(room.problem);
        day->hours = opening_hours(day->room);
        days->rooms_.push_back(std::move(day));
    }
    return days;
}

Replication DayRooms::simulate(const engine::Draws& draws, const Keep& keep, Worker& worker,
                               const std::vector<double>* list) const {
    Replication out{.number = draws.replication()};
    const std::size_t number = day_of(rooms_, draws);
    const DayRoom& day = *rooms_[number];
    DayDisturbances& disturbances = worker.disturbances;
    day.realiser->disturbances().draw(draws, 1.0, disturbances);
    out.remakes = disturbances.remakes;
    out.failures = disturbances.failures;
    out.absences = disturbances.absences;
    out.late_films = disturbances.late_films;
    out.rush_orders = static_cast<int>(disturbances.orders.size()) - disturbances.copies;
    const std::size_t planned = day.room.problem.orders.size();
    const auto by_kit = [&] {
        worker.runs.resize(rooms_.size());
        auto& run = worker.runs[number];
        if (!run) run = std::make_unique<DayRun>(*day.kit);
        if (!run->simulate(disturbances, draws, list)) return;
        out.improvised = run->improvised();
        out.complete = true;
        out.objective = run->objective();
        measure(run->problem(), run->schedule(), planned, day, keep.use, worker, out);
        if (keep.operations)
            keep_times(disturbances, run->schedule(), run->problem().horizon_start,
                       day.realiser->run_operations(), out);
    };
    if (day.kit && !day.pots_end) {
        by_kit();
        return out;
    }
    Reality reality = day.realiser->build(disturbances, draws);
    const auto simulate_once = [&] {
        return list != nullptr ? Policy::list(day.room, *list)->simulate(reality)
                               : day.policy->simulate(reality);
    };
    SimulatedDay simulated = simulate_once();
    if (!simulated.complete && day.pots_end && !day.kit) {  // nor does one under way, see below
        reality = day.realiser->build(disturbances, draws);
        for (core::Store& store : reality.problem.stores)
            store.life.reset();
        simulated = simulate_once();
    }
    out.improvised = simulated.improvised;
    out.misses = simulated.misses;
    if (!simulated.complete) {
        // A day does not end because a pot does: the kit takes what is mixed to keep.
        if (day.kit) by_kit();
        return out;
    }
    out.complete = true;
    out.objective = std::move(simulated.objective);
    reality.problem.now.reset();  // measured as a whole day
    reality.problem.begun.clear();
    const engine::CompiledProblem compiled(reality.problem);
    const auto flat = engine::to_flat(compiled, simulated.schedule);
    measure(compiled, flat, planned, day, keep.use, worker, out);
    if (keep.operations)
        keep_times(disturbances, flat, compiled.horizon_start, day.realiser->run_operations(), out);
    return out;
}

}  // namespace sched::study
