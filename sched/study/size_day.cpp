#include "sched/study/size_day.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "model/physics/air.hpp"
#include "model/physics/cabinet.hpp"

namespace sched::study {
namespace {

std::int64_t common(core::SimTime a, core::SimTime b, core::Window w) {
    return std::max<std::int64_t>(0, (std::min(b, w.to) - std::max(a, w.from)).count());
}

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
                                         const SizeOptions& settings, std::string& problem) {
    auto out = std::make_unique<SizeRoom>();
    out->scenario = &scenario;
    model::Diagnostics diagnostics;
    auto compiled = compile::compile_room(
        scenario, {.start = settings.start, .days = settings.days + 4, .spare_ways = true},
        diagnostics);
    if (!compiled) {
        problem = diagnostics.all().empty() ? "does not compile"
                                            : model::to_text(diagnostics.all().front());
        return nullptr;
    }
    out->room = *std::move(compiled);
    out->realiser = std::make_unique<Realiser>(scenario, out->room, settings.chance);
    out->policy = Policy::make(settings.policy, out->room, nullptr);
    if (!out->policy) {
        problem = "no rule named " + settings.policy;
        return nullptr;
    }
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
            continue;
        }
        const auto& station = scenario.room.stations[static_cast<std::size_t>(info.index)];
        if (station.lamp) out->lamps.push_back(static_cast<int>(r));
        if (!station.air || !scenario.room.climate) continue;
        const auto& climate = *scenario.room.climate;
        const auto cabinet =
            model::physics::make_cabinet(*station.air, climate.air, climate.pressure, {});
        out->cabinets.push_back(
            {.resource = static_cast<int>(r),
             .empty = heating(cabinet, climate.air, 0.0, settings.dehumidifier_kwh_per_kg),
             .wet = heating(cabinet, climate.air, 0.25, settings.dehumidifier_kwh_per_kg)});
    }
    if (out->hours.from >= out->hours.to) out->hours = {p.horizon_start, day_end};
    return out;
}

SizeDay live_size_day(const SizeRoom& room, const SizeOptions& settings, int option, int volume,
                      std::uint64_t day) {
    SizeDay out{.option = option, .volume = volume, .day = day};
    Reality reality = room.realiser->realise(engine::Draws(settings.seed, day),
                                             settings.volumes[static_cast<std::size_t>(volume)]);
    const Lived lived = room.policy->live(reality);
    if (!lived.complete) return out;
    out.complete = true;
    const core::Problem& p = reality.problem;
    std::vector<core::SimTime> ready(p.orders.size(), core::SimTime::min());
    std::vector<char> has_work(p.jobs.size(), 0);
    std::vector<std::int64_t> use(p.resources.size(), 0);
    std::map<int, std::vector<std::pair<core::SimTime, core::SimTime>>> drying;
    std::set<std::pair<int, int>> counted;  // batches, by resource
    double lamp_s = 0.0;
    for (std::size_t i = 0; i < lived.schedule.placements.size(); ++i) {
        const auto& operation = p.operations[i];
        const auto& placed = lived.schedule.placements[i];
        if (operation.job.valid()) {
            has_work[operation.job.index()] = 1;
            auto& r = ready[p.jobs[operation.job.index()].order.index()];
            r = std::max(r, operation.max_stretch ? placed.end : placed.work_end);
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
                    out.overtime_h +=
                        static_cast<double>(common(placed.start, placed.work_end, w.window)) /
                        3600.0;
                }
            }
            const bool whole = mode.needs[n].span == core::Span::Whole;
            use[static_cast<std::size_t>(r)] +=
                mode.needs[n].amount *
                common(placed.start, whole ? placed.end : placed.work_end, room.hours);
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
    std::vector<double> turnaround;
    for (std::size_t o = 0; o < p.orders.size(); ++o) {
        if (ready[o] == core::SimTime::min()) continue;
        ++out.orders;
        const auto& order = p.orders[o];
        const auto from = std::max(order.release, room.hours.from);
        turnaround.push_back(static_cast<double>((ready[o] - from).count()) / 3600.0);
        if (order.due && ready[o] > *order.due) {
            ++out.late;
            out.tardiness_h += static_cast<double>((ready[o] - *order.due).count()) / 3600.0;
        }
    }
    std::sort(turnaround.begin(), turnaround.end());
    if (!turnaround.empty()) out.turnaround_p90_h = sample_quantile(turnaround, 0.9);
    out.screens = static_cast<int>(std::count(has_work.begin(), has_work.end(), 1));
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
            wet_open_s += static_cast<double>(common(begin, to, room.hours));
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
                open += common(w.from, w.to, room.hours);
        }
        if (open <= 0) continue;
        const double share =
            static_cast<double>(use[r]) / static_cast<double>(open * p.resources[r].capacity);
        if (share > out.busiest_share) {
            out.busiest_share = share;
            out.busiest = static_cast<int>(r);
        }
    }
    out.cost = cost_of_day({.overtime_hours = out.overtime_h,
                            .late_orders = static_cast<double>(out.late),
                            .late_hours = out.tardiness_h,
                            .energy_kwh = out.energy_kwh},
                           settings.prices);
    return out;
}

std::string size_resource_name(const SizeRoom& room, int resource) {
    return room.room.problem.resources[static_cast<std::size_t>(resource)].name;
}

SizeTheory size_theory(const SizeRoom& room, int option) {
    SizeTheory t{.option = option};
    const core::Problem& p = room.room.problem;
    const double screens =
        static_cast<double>(std::count_if(room.room.screens.begin(), room.room.screens.end(),
                                          [](const auto& s) { return s.stock >= 0; }));
    if (screens <= 0.0) return t;
    int run = static_cast<int>(p.operations.size());
    for (const auto& way : room.room.spare)
        run = std::min(run, way.first);
    // Work of the run, shared evenly over the resources that could do it; drying in a cabinet at S
    // = 1.
    std::vector<double> work(p.resources.size(), 0.0);
    double raw = 0.0;
    for (int i = 0; i < run; ++i) {
        const auto& mode = p.operations[static_cast<std::size_t>(i)].modes.front();
        double length = static_cast<double>(mode.work.count());
        if (!mode.stages.empty()) {
            const auto& clock = p.resources[mode.needs.front().any_of.front().index()].shared;
            double units = 0.0;
            for (const auto& s : mode.stages)
                units += s.work;
            if (clock && !clock->steps.empty() && clock->steps.front().base > 0.0) {
                length = units / (clock->steps.front().base / 2.0);
            }
        }
        raw += length;
        for (const auto& need : mode.needs) {
            for (const auto r : need.any_of) {
                work[r.index()] += length * need.amount / static_cast<double>(need.any_of.size());
            }
        }
    }
    const double open_h = static_cast<double>((room.hours.to - room.hours.from).count()) / 3600.0;
    double least = 0.0;
    for (std::size_t r = 0; r < work.size(); ++r) {
        if (work[r] <= 0.0) continue;
        double staffed_h = open_h;
        if (p.resources[r].calendar) {
            std::int64_t s = 0;
            for (const auto& w : *p.resources[r].calendar)
                s += common(w.from, w.to, room.hours);
            staffed_h = static_cast<double>(s) / 3600.0;
        }
        // Screens a day that this resource could carry.
        const double rate = staffed_h * p.resources[r].capacity / (work[r] / 3600.0 / screens);
        if (least == 0.0 || rate < least) {
            least = rate;
            t.bottleneck = p.resources[r].name;
            t.square_root_servers =
                theory::square_root_servers(work[r] / 3600.0 / std::max(staffed_h, 1e-9), 1.0);
        }
    }
    t.screens_a_day = least;
    t.line.bottleneck_rate = least / std::max(open_h, 1e-9);
    t.line.raw_process_time = raw / 3600.0 / screens;
    t.line.critical_wip = t.line.bottleneck_rate * t.line.raw_process_time;
    t.practical_worst_cycle_h = theory::practical_worst_case(t.line, screens).cycle_time;
    return t;
}

}  // namespace sched::study
