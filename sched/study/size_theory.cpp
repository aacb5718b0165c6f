// What times alone say of a room, to hold beside the simulation (Hopp and Spearman, Factory
// Physics, ch. 7; square-root staffing after Halfin and Whitt 1981).

#include <fmt/format.h>

#include <algorithm>

#include "sched/study/size_day.hpp"

namespace sched::study {

SizeTheory size_theory(const SizeRoom& room) {
    SizeTheory t;
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
                s += seconds_within(w.from, w.to, room.hours);
            staffed_h = static_cast<double>(s) / 3600.0;
        }
        // Screens a day that this resource could carry.
        const double rate = staffed_h * p.resources[r].capacity / (work[r] / 3600.0 / screens);
        if (least == 0.0 || rate < least) {
            least = rate;
            t.bottleneck = p.resources[r].name;
            t.load = work[r] / 3600.0 / std::max(staffed_h, 1e-9);
            t.units = p.resources[r].capacity;
            t.square_root_units = theory::square_root_servers(t.load, 1.0);
        }
    }
    t.screens_a_day = least;
    t.bottleneck_rate = least / std::max(open_h, 1e-9);
    t.raw_process_time_h = raw / 3600.0 / screens;
    t.critical_wip = t.bottleneck_rate * t.raw_process_time_h;
    const theory::LineLimits line{.bottleneck_rate = t.bottleneck_rate,
                                  .raw_process_time = t.raw_process_time_h,
                                  .critical_wip = t.critical_wip};
    t.best_cycle_h = theory::best_case(line, screens).cycle_time;
    t.practical_worst_cycle_h = theory::practical_worst_case(line, screens).cycle_time;
    t.worst_cycle_h = theory::worst_case(line, screens).cycle_time;
    return t;
}

std::vector<std::string> disagreements(const SizeTheory& t, const SizeCell& cell,
                                       std::span<const SizeDay* const> days) {
    std::vector<std::string> out;
    if (days.empty() || t.screens_a_day <= 0.0) return out;
    double same_day = 0.0;
    double flow = 0.0;
    for (const auto* d : days) {
        same_day += d->same_day;
        flow += d->flow_h;
    }
    same_day /= static_cast<double>(days.size());
    flow /= static_cast<double>(days.size());
    // The day's mix of orders differs from the run's by chance: a tenth is no contradiction.
    if (same_day > 1.1 * t.screens_a_day) {
        out.push_back(
            fmt::format("{:.0f} screens a day were finished, {} could carry {:.0f} at most.",
                        same_day, t.bottleneck, t.screens_a_day));
    }
    if (flow < 0.9 * t.raw_process_time_h) {
        out.push_back(
            fmt::format("A screen was in work for {:.1f} h, its steps alone need {:.1f} h.", flow,
                        t.raw_process_time_h));
    }
    if (flow > 1.1 * t.worst_cycle_h) {
        out.push_back(fmt::format(
            "A screen was in work for {:.1f} h, longer than one after the other ({:.1f} h).", flow,
            t.worst_cycle_h));
    }
    if (cell.busiest > 0.8 && cell.bottleneck != t.bottleneck && cell.next != t.bottleneck) {
        out.push_back(fmt::format("Theory names {} as the limit, the days {} and then {}.",
                                  t.bottleneck, cell.bottleneck, cell.next));
    }
    return out;
}

}  // namespace sched::study
