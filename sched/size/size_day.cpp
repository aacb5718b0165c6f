// How it works: one simulated day is followed by one pass over its placements, which adds up
// what costs money: work and overtime by person, lamp hours, hours of drying with their heat,
// late orders. Heating is an enthalpy balance of the supply air at the day's usual air.

#include "sched/size/size_day.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "model/physics/air.hpp"
#include "model/physics/cabinet.hpp"
#include "sched/simulate/planned_day.hpp"

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

std::int64_t seconds_within(core::SimTime a, core::SimTime b, core::Window w) {
    return std::max<std::int64_t>(0, (std::min(b, w.to) - std::max(a, w.from)).count());
}

std::unique_ptr<SizeRoom> open_size_room(const model::Scenario& scenario,
                                         const SizeOptions& settings, const std::string& day_kind,
                                         std::string& problem) {
    model::Diagnostics diagnostics;
    auto compiled = compile::compile_room(scenario,
                                          {.start = settings.start,
                                           .days = settings.days + 4,
                                           .day_kind = day_kind,
                                           .spare_ways = true},
                                          diagnostics);
    if (!compiled) {
        problem = diagnostics.all().empty() ? "does not compile"
                                            : model::to_text(diagnostics.all().front());
        return nullptr;
    }
    auto out = make_size_room(scenario, *std::move(compiled), settings);
    if (!out) {
        problem = "no rule named " + settings.policy;
        return nullptr;
    }
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
    out->chance = settings.chance;
    out->realiser = std::make_unique<Realiser>(scenario, out->room, out->chance);
    out->planner = std::make_unique<Realiser>(scenario, out->room, out->calm);
    out->policy = Policy::make(settings.policy, out->room, nullptr);
    if (!out->policy) return nullptr;
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

SizeDay live_size_day(const SizeRoom& room, const SizeOptions& settings, SizeDay out) {
    const engine::Draws draws(settings.seed, out.day);
    const double share = settings.volumes[static_cast<std::size_t>(out.volume)];
    Reality reality = room.realiser->realise(draws, share);
    const SimulatedDay simulated =
        settings.plan_schedules > 0
            ? live_planned(reality, room.planner->realise(draws, share), settings.plan_schedules,
                           engine::join_keys(settings.seed, out.day), settings.plan_margin)
            : room.policy->live(reality);
    out.complete = simulated.complete;
    const core::Problem& p = reality.problem;
    std::vector<core::SimTime> ready(p.orders.size(), core::SimTime::min());
    std::vector<core::SimTime> first(p.jobs.size(), core::SimTime::max());
    std::vector<core::SimTime> last(p.jobs.size(), core::SimTime::min());
    std::vector<std::int64_t> use(p.resources.size(), 0);
    std::map<int, std::vector<std::pair<core::SimTime, core::SimTime>>> drying;
    std::set<std::pair<int, int>> counted;  // batches, by resource
    double lamp_s = 0.0;
    // A day that does not end costs what it costs: all that was to be done on it is as late as the
    // horizon allows to say.
    for (std::size_t i = 0; i < p.operations.size() && !simulated.complete; ++i) {
        const core::JobId job = p.operations[i].job;
        if (!job.valid()) continue;
        const std::size_t order = p.jobs[job.index()].order.index();
        first[job.index()] = std::max(p.orders[order].release, room.hours.from);
        last[job.index()] = ready[order] = p.horizon_end;
    }
    for (std::size_t i = 0; i < simulated.schedule.placements.size(); ++i) {
        const auto& operation = p.operations[i];
        const auto& placed = simulated.schedule.placements[i];
        if (operation.job.valid()) {
            const std::size_t job = operation.job.index();
            const auto done = operation.max_stretch ? placed.end : placed.work_end;
            first[job] = std::min(first[job], placed.start);
            last[job] = std::max(last[job], done);
            auto& r = ready[p.jobs[job].order.index()];
            r = std::max(r, done);
        }
        const auto& mode = operation.modes[static_cast<std::size_t>(placed.mode)];
        for (std::size_t n = 0; n < mode.needs.size(); ++n) {
            const int r = placed.chosen[n].value;
            // A shared exposure takes its place, and whoever minds it, once.
            const auto& resource = p.resources[static_cast<std::size_t>(r)];
            if (placed.batch && (resource.batch || resource.capacity == 1) &&
                !counted.emplace(*placed.batch, r).second) {
                continue;
            }
            if (mode.needs[n].span == core::Span::Work) {
                for (const auto& w : p.overtime) {
                    if (w.resource.value != r) continue;
                    out.overtime_h += static_cast<double>(
                                          seconds_within(placed.start, placed.work_end, w.window)) /
                                      3600.0;
                }
            }
            const bool whole = mode.needs[n].span == core::Span::Whole;
            use[static_cast<std::size_t>(r)] +=
                mode.needs[n].amount *
                seconds_within(placed.start, whole ? placed.end : placed.work_end, room.hours);
            if (n == 0 && !mode.stages.empty())
                drying[r].push_back({placed.start, placed.work_end});
            const bool lamp =
                std::find(room.lamps.begin(), room.lamps.end(), r) != room.lamps.end();
            const bool attended = mode.needs.size() > 1;
            if (lamp && !attended) {  // the exposure itself; loading is attended
                lamp_s += static_cast<double>((placed.work_end - placed.start).count());
            }
        }
    }
    DayCost bill;
    std::vector<int> screens_of(p.orders.size(), 0);
    for (std::size_t j = 0; j < p.jobs.size(); ++j) {
        if (last[j] >= first[j]) ++screens_of[p.jobs[j].order.index()];
    }
    std::vector<double> turnaround;
    for (std::size_t o = 0; o < p.orders.size(); ++o) {
        if (ready[o] == core::SimTime::min()) continue;
        ++out.orders;
        const auto& order = p.orders[o];
        const auto from = std::max(order.release, room.hours.from);
        turnaround.push_back(static_cast<double>((ready[o] - from).count()) / 3600.0);
        if (order.due && ready[o] > *order.due) {
            const double hours = static_cast<double>((ready[o] - *order.due).count()) / 3600.0;
            ++out.late;
            out.tardiness_h += hours;
            // Whoever can have screens made elsewhere does so where lateness would cost more.
            const Prices& price = settings.prices;
            // Where lateness has no price of its own, that is what it costs.
            const bool priced = price.late_order > 0.0 || price.late_hour > 0.0;
            if (price.screen_sent_out > 0.0 &&
                (!priced || screens_of[o] * price.screen_sent_out <
                                price.late_order + price.late_hour * hours)) {
                bill.screens_sent_out += screens_of[o];
            } else {
                bill.late_orders += 1.0;
                bill.late_hours += hours;
            }
        }
    }
    std::sort(turnaround.begin(), turnaround.end());
    if (!turnaround.empty()) out.turnaround_p90_h = sample_quantile(turnaround, 0.9);
    double flow = 0.0;
    for (std::size_t j = 0; j < p.jobs.size(); ++j) {
        if (last[j] < first[j]) continue;
        ++out.screens;
        out.same_day += last[j] <= room.hours.to ? 1 : 0;
        flow += static_cast<double>((last[j] - first[j]).count()) / 3600.0;
    }
    if (out.screens > 0) out.flow_h = flow / out.screens;
    // Heaters are on while the room is open and while anything dries after that.
    for (const auto& cabinet : room.cabinets) {
        auto& spans = drying[cabinet.resource];
        std::sort(spans.begin(), spans.end());
        double wet_s = 0.0;
        double wet_open_s = 0.0;
        core::SimTime until = core::SimTime::min();
        for (const auto& [from, to] : spans) {
            const auto begin = std::max(from, until);
            if (to <= begin) continue;
            wet_s += static_cast<double>((to - begin).count());
            wet_open_s += static_cast<double>(seconds_within(begin, to, room.hours));
            until = to;
        }
        const double open_s = static_cast<double>((room.hours.to - room.hours.from).count());
        out.energy_kwh += (cabinet.wet * wet_s + cabinet.empty * (open_s - wet_open_s)) / 3.6e6;
    }
    out.energy_kwh += settings.lamp_kw * lamp_s / 3600.0;
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        std::int64_t open = (room.hours.to - room.hours.from).count();
        if (p.resources[r].calendar) {
            open = 0;
            for (const auto& w : *p.resources[r].calendar)
                open += seconds_within(w.from, w.to, room.hours);
        }
        if (open <= 0) continue;
        const double used =
            static_cast<double>(use[r]) / static_cast<double>(open * p.resources[r].capacity);
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
    bill.overtime_hours = out.overtime_h;
    bill.energy_kwh = out.energy_kwh;
    out.cost = cost_of_day(bill, settings.prices);
    return out;
}

}  // namespace sched::study
