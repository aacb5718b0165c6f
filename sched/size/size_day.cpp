// How it works: a day is simulated as those of a plan are (day_run.hpp), by the room's order of
// work or by a rule. One pass over its placements then adds up what costs money: work and overtime
// by person, lamp hours, hours of drying with their heat, late orders. Heating is an enthalpy
// balance of the supply air at the day's usual air.

#include "sched/size/size_day.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "model/physics/air.hpp"
#include "model/physics/cabinet.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/index.hpp"
#include "sched/simulate/enough_pots.hpp"
#include "sched/simulate/list_search.hpp"

namespace sched::study {
namespace {

/// Power that brings the supply air to the state inside: mass flow x difference of enthalpy (the
/// water that evaporates is part of it), and what a dehumidifier draws for the water that it takes
/// out of the supply air. Fans and walls are left out.
double heating(const model::physics::Cabinet& cabinet, const model::Air& room, double load,
               double dehumidifier_kwh_per_kg) {
    using namespace model::physics;
    const double w_room = humidity_ratio(room.temperature, room.humidity, cabinet.pressure);
    double w_supply = w_room;
    if (cabinet.air.dehumidified_to) {
        w_supply = std::min(w_room, humidity_ratio(room.temperature, *cabinet.air.dehumidified_to,
                                                   cabinet.pressure));
    }
    const CabinetState inside = state_at(cabinet, room, load);
    const double flow = cabinet.air.supply.value / 3600.0 /
                        specific_volume(room.temperature, w_room, cabinet.pressure);
    const double warm = flow * (enthalpy(inside.temperature, inside.humidity_ratio) -
                                enthalpy(room.temperature, w_supply));
    return std::max(0.0, warm) + flow * (w_room - w_supply) * dehumidifier_kwh_per_kg * 3.6e6;
}

}  // namespace

std::unique_ptr<SizeRoom> open_size_room(const model::Scenario& scenario,
                                         const SizeOptions& settings, const std::string& day_kind,
                                         std::string& problem) {
    model::Diagnostics diagnostics;
    compile::CompileOptions how{
        .start = settings.start, .days = settings.days + 4, .day_kind = day_kind};
    if (pots_end_in(scenario.room, model::hours(24) * how.days)) {
        const auto with = [&](const compile::CompileOptions& asked) {
            model::Diagnostics unsaid;
            return compile::compile_room(scenario, asked, unsaid);
        };
        how = with_enough_pots(how, nullptr, with, settings.stop);
    }
    how.spare_ways = true;
    auto compiled = compile::compile_room(scenario, how, diagnostics);
    if (!compiled) {
        problem = "does not compile";
        for (const model::Diagnostic& d : diagnostics.all()) {
            if (d.severity != model::Severity::Error)
                continue;  // the room is none the worse for it
            problem = model::to_text(d);
            break;
        }
        return nullptr;
    }
    auto out = make_size_room(scenario, *std::move(compiled), settings);
    if (!out) {
        problem = "no rule named " + settings.policy;
        return nullptr;
    }
    out->how = how;
    if (!scenario.room.climate) return out;
    const auto& climate = *scenario.room.climate;
    const auto named = climate.named_days.find(day_kind);
    const model::Air air = named != climate.named_days.end() ? named->second : climate.air;
    for (std::size_t r = 0; r < out->room.resources.size(); ++r) {
        const auto& info = out->room.resources[r];
        if (info.kind != compile::ResourceKind::Station) continue;
        const auto& station = scenario.room.stations[static_cast<std::size_t>(info.index)];
        if (!station.air) continue;
        const auto cabinet = model::physics::make_cabinet(*station.air, air, climate.pressure, {});
        const double per_kg = settings.dehumidifier_kwh_per_kg;
        out->cabinets.push_back({.resource = static_cast<int>(r),
                                 .empty = heating(cabinet, air, 0.0, per_kg),
                                 .wet = heating(cabinet, air, 0.25, per_kg)});
    }
    return out;
}

std::unique_ptr<SizeRoom> make_size_room(const model::Scenario& scenario, compile::RoomProblem room,
                                         const SizeOptions& settings) {
    auto out = std::make_unique<SizeRoom>();
    out->room = std::move(room);
    out->pots_end = mixed_on_demand(out->room.problem);
    out->chance = settings.chance;
    out->realiser = std::make_unique<Realiser>(scenario, out->room, out->chance);
    out->ruled.policy = Policy::make(settings.policy, out->room, nullptr);
    if (!out->ruled.policy) return nullptr;
    out->ruled.kit = DayKit::make(out->realiser->disturbances(), *out->ruled.policy);
    const core::Problem& p = out->room.problem;
    const auto day_end = p.horizon_start + std::chrono::days{1};
    out->hours = {day_end, p.horizon_start};
    for (std::size_t r = 0; r < out->room.resources.size(); ++r) {
        const auto& info = out->room.resources[r];
        if (info.kind == compile::ResourceKind::Person) {
            if (!p.resources[r].calendar) continue;
            for (const auto& w : *p.resources[r].calendar) {
                if (w.from >= day_end) break;
                out->hours.from = std::min(out->hours.from, w.from);
                out->hours.to = std::max(out->hours.to, std::min(w.to, day_end));
            }
        } else if (scenario.room.stations[static_cast<std::size_t>(info.index)].lamp) {
            out->lamps.push_back(static_cast<int>(r));
        }
    }
    if (out->hours.from >= out->hours.to) out->hours = {p.horizon_start, day_end};
    return out;
}

SizeWorker::SizeWorker() = default;
SizeWorker::~SizeWorker() = default;
SizeWorker::SizeWorker(SizeWorker&&) noexcept = default;

namespace {

using engine::Tick;

/// A day on rows, however it came about.
struct SimulatedRows {
    bool complete = false;
    const engine::CompiledProblem* problem = nullptr;
    const engine::FlatSchedule* schedule = nullptr;
};

/// Adds up what a day used, by its placements.
class Bookkeeping {
public:
    Bookkeeping(const SizeRoom& room, const SimulatedRows& day)
        : room_(room),
          p_(*day.problem),
          s_(*day.schedule),
          open_from_(tick(room.hours.from)),
          open_to_(tick(room.hours.to)) {
        std::int32_t jobs = 0;
        for (const auto& o : p_.operations)
            jobs = std::max(jobs, o.job + 1);
        ready.assign(p_.order_due.size(), -engine::never);
        order_of.assign(ix(jobs), -1);
        first.assign(ix(jobs), engine::never);
        last.assign(ix(jobs), -engine::never);
        use.assign(p_.resources.size(), 0);
        if (day.complete) {
            for (std::size_t i = 0; i < p_.operations.size(); ++i)
                add(i);
        } else {
            take_horizon();
        }
    }

    static Tick tick(core::SimTime t) { return t.time_since_epoch().count(); }

    std::vector<Tick> ready;             // per order; -never: without work
    std::vector<std::int32_t> order_of;  // per job
    std::vector<Tick> first, last;       // per job: first and last touch
    std::vector<std::int64_t> use;       // per resource, capacity-seconds in opening hours
    std::map<int, std::vector<std::pair<Tick, Tick>>> drying;  // by cabinet
    double lamp_s = 0.0;
    double overtime_s = 0.0;

private:
    // A day that does not end costs what it costs: all that was to be done on it is as late as the
    // horizon allows to say.
    void take_horizon() {
        for (const auto& o : p_.operations) {
            if (o.job < 0) continue;
            order_of[ix(o.job)] = o.order;
            first[ix(o.job)] = std::max(p_.order_release[ix(o.order)], open_from_);
            last[ix(o.job)] = ready[ix(o.order)] = p_.horizon_end;
        }
    }

    void add(std::size_t i) {
        const auto& o = p_.operations[i];
        if (o.job >= 0) {
            const Tick done = o.stretch < engine::never ? s_.end[i] : s_.work_end[i];
            order_of[ix(o.job)] = o.order;
            first[ix(o.job)] = std::min(first[ix(o.job)], s_.start[i]);
            last[ix(o.job)] = std::max(last[ix(o.job)], done);
            ready[ix(o.order)] = std::max(ready[ix(o.order)], done);
        }
        const auto& mode = p_.modes[ix(o.modes.begin + s_.mode[i])];
        for (std::int32_t n = 0; n < mode.needs.size(); ++n) {
            const std::int32_t r = s_.chosen[ix(o.chosen + n)];
            // A shared exposure takes its place, and whoever minds it, once.
            const auto& resource = p_.resources[ix(r)];
            if (s_.batch[i] >= 0 && (resource.has_batch || resource.capacity == 1) &&
                !counted_.emplace(s_.batch[i], r).second) {
                continue;
            }
            const auto& need = p_.needs[ix(mode.needs.begin + n)];
            if (!need.whole) {
                for (std::int32_t w = resource.overtime.begin; w < resource.overtime.end; ++w)
                    overtime_s += static_cast<double>(core::overlap(s_.start[i], s_.work_end[i],
                                                                    p_.overtime[ix(w)].from,
                                                                    p_.overtime[ix(w)].to));
            }
            use[ix(r)] +=
                need.amount * core::overlap(s_.start[i], need.whole ? s_.end[i] : s_.work_end[i],
                                            open_from_, open_to_);
            if (n == 0 && mode.stages.size() > 0)
                drying[r].push_back({s_.start[i], s_.work_end[i]});
            const bool lamp =
                std::find(room_.lamps.begin(), room_.lamps.end(), r) != room_.lamps.end();
            const bool attended = mode.needs.size() > 1;
            if (lamp && !attended)  // the exposure itself; loading is attended
                lamp_s += static_cast<double>(s_.work_end[i] - s_.start[i]);
        }
    }

    const SizeRoom& room_;
    const engine::CompiledProblem& p_;
    const engine::FlatSchedule& s_;
    Tick open_from_, open_to_;
    std::set<std::pair<std::int32_t, std::int32_t>> counted_;  // batches, by resource
};

/// Whoever can have screens made elsewhere does so where lateness would cost more.
void add_late_order(DayCost& bill, const Prices& price, int screens, double hours) {
    // Where lateness has no price of its own, that is what it costs.
    const bool priced = price.late_order > 0.0 || price.late_hour > 0.0;
    if (price.screen_sent_out > 0.0 &&
        (!priced || screens * price.screen_sent_out < price.late_order + price.late_hour * hours)) {
        bill.screens_sent_out += screens;
    } else {
        bill.late_orders += 1.0;
        bill.late_hours += hours;
    }
}

void account(const SizeRoom& room, const SizeOptions& settings, const SimulatedRows& day,
             SizeDay& out) {
    const engine::CompiledProblem& p = *day.problem;
    out.complete = day.complete;
    Bookkeeping books(room, day);
    const Tick open_from = Bookkeeping::tick(room.hours.from);
    const Tick open_to = Bookkeeping::tick(room.hours.to);
    DayCost bill;
    std::vector<int> screens_of(p.order_due.size(), 0);
    for (std::size_t j = 0; j < books.order_of.size(); ++j) {
        if (books.last[j] >= books.first[j]) ++screens_of[ix(books.order_of[j])];
    }
    std::vector<double> turnaround;
    for (std::size_t o = 0; o < p.order_due.size(); ++o) {
        const Tick ready = books.ready[o];
        if (ready == -engine::never) continue;
        // What was due before the day begins is late in every room: what it still costs is the time
        // that it goes on being late, and no screen made elsewhere brings it in time.
        const bool overdue = p.order_due[o] < p.horizon_start;
        out.orders += overdue ? 0 : 1;
        const Tick from = std::max(p.order_release[o], open_from);
        turnaround.push_back(static_cast<double>(ready - from) / 3600.0);
        const Tick due = overdue ? p.horizon_start : p.order_due[o];
        if (ready > due) {
            const double hours = static_cast<double>(ready - due) / 3600.0;
            out.tardiness_h += hours;
            out.late += overdue ? 0 : 1;
            if (overdue)
                bill.late_hours += hours;
            else
                add_late_order(bill, settings.prices, screens_of[o], hours);
        }
    }
    std::sort(turnaround.begin(), turnaround.end());
    if (!turnaround.empty()) out.turnaround_p90_h = sample_quantile(turnaround, 0.9);
    double flow = 0.0;
    for (std::size_t j = 0; j < books.order_of.size(); ++j) {
        if (books.last[j] < books.first[j]) continue;
        ++out.screens;
        out.same_day += books.last[j] <= open_to ? 1 : 0;
        flow += static_cast<double>(books.last[j] - books.first[j]) / 3600.0;
    }
    if (out.screens > 0) out.flow_h = flow / out.screens;
    // Heaters are on while the room is open and while anything dries after that.
    for (const auto& cabinet : room.cabinets) {
        auto& spans = books.drying[cabinet.resource];
        std::sort(spans.begin(), spans.end());
        double wet_s = 0.0;
        double wet_open_s = 0.0;
        Tick until = -engine::never;
        for (const auto& [from, to] : spans) {
            const Tick begin = std::max(from, until);
            if (to <= begin) continue;
            wet_s += static_cast<double>(to - begin);
            wet_open_s += static_cast<double>(core::overlap(begin, to, open_from, open_to));
            until = to;
        }
        const double open_s = static_cast<double>(open_to - open_from);
        out.energy_kwh += (cabinet.wet * wet_s + cabinet.empty * (open_s - wet_open_s)) / 3.6e6;
    }
    out.energy_kwh += settings.lamp_kw * books.lamp_s / 3600.0;
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        std::int64_t open = open_to - open_from;
        if (p.resources[r].has_calendar) {
            open = 0;
            for (const auto& w : p.windows_of(p.resources[r]))
                open += core::overlap(w.from, w.to, open_from, open_to);
        }
        if (open <= 0) continue;
        const double used =
            static_cast<double>(books.use[r]) / static_cast<double>(open * p.resources[r].capacity);
        if (used > out.busiest_share) {
            out.next_share = out.busiest_share;
            out.next = out.busiest;
            out.busiest_share = used;
            out.busiest = static_cast<int>(r);
        } else if (used > out.next_share) {
            out.next_share = used;
            out.next = static_cast<int>(r);
        }
    }
    out.overtime_h = books.overtime_s / 3600.0;
    bill.overtime_hours = out.overtime_h;
    bill.energy_kwh = out.energy_kwh;
    out.cost = cost_of_day(bill, settings.prices);
}

}  // namespace

bool make_followed(SizeRoom& room, const std::shared_ptr<const core::Schedule>& plan) {
    if (static_cast<int>(plan->placements.size()) != room.realiser->run_operations()) return false;
    SizeRunner runner{.policy = Policy::make("follow", room.room, plan.get()), .kit = nullptr};
    if (!runner.policy) return false;
    runner.kit = DayKit::make(room.realiser->disturbances(), *runner.policy);
    room.follow[plan.get()] = std::move(runner);
    return true;
}

SizeDay simulate_size_day(const SizeRoom& room, const SizeOptions& settings, SizeDay out,
                          SizeWorker& worker, const std::vector<double>* list,
                          const core::Schedule* plan) {
    const engine::Draws draws(settings.seed, out.day);
    const double share = settings.volumes[static_cast<std::size_t>(out.volume)];
    room.realiser->disturbances().draw(draws, share, worker.disturbances);
    const SizeRunner& runner = plan != nullptr ? room.follow.at(plan) : room.ruled;
    const auto by_kit = [&] {
        auto& run = worker.runs[&runner];
        if (!run) run = std::make_unique<DayRun>(*runner.kit);
        Replication day;
        day.complete = run->simulate(worker.disturbances, draws, list);
        if (day.complete) day.objective = run->objective();
        worker.aims = cost_of_day(room.room.problem, day);
        account(room, settings, {day.complete, &run->problem(), &run->schedule()}, out);
    };
    if (runner.kit && !room.pots_end) {
        by_kit();
        return out;
    }
    Reality reality = room.realiser->build(worker.disturbances, draws);
    const SimulatedDay simulated = list != nullptr
                                       ? Policy::list(room.room, *list)->simulate(reality)
                                       : runner.policy->simulate(reality);
    if (!simulated.complete && runner.kit) {
        // A day does not end because a pot does: the kit takes what is mixed to keep.
        by_kit();
        return out;
    }
    worker.aims = cost_of_day(
        room.room.problem,
        {.number = out.day, .complete = simulated.complete, .objective = simulated.objective});
    const engine::CompiledProblem compiled(reality.problem);
    engine::FlatSchedule flat;
    if (simulated.complete) flat = engine::to_flat(compiled, simulated.schedule);
    account(room, settings, {simulated.complete, &compiled, &flat}, out);
    return out;
}

}  // namespace sched::study
