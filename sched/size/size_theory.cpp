// What times alone say of a room, to hold beside the simulation (Hopp and Spearman, Factory
// Physics, ch. 7; square-root staffing after Halfin and Whitt 1981).

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "sched/core/calendar.hpp"
#include "sched/size/size_day.hpp"

namespace sched::study {
namespace {

/// How long the stages last in this cabinet with `inside` alike screens in it, all under way: their
/// shares on average over the stages, because all see the same clock.
double drying_length(const core::Mode& mode, const core::Resource& cabinet, core::SimTime at,
                     double inside) {
    double units = 0.0;
    double shares = 0.0;
    for (const auto& s : mode.stages) {
        units += s.work;
        shares += s.work * s.share;
    }
    if (units <= 0.0 || !cabinet.shared) return 0.0;
    const auto& steps = cabinet.shared->steps;
    const core::RateStep* now = &steps.front();
    for (const auto& step : steps) {
        if (step.from <= at) now = &step;
    }
    const double load = inside * shares / units;
    const double pace = core::clock_rate(*now, load);
    return pace > 0.0 ? std::max(units / pace, static_cast<double>(mode.work.count())) : 0.0;
}

/// Work that any of some resources could do.
struct SharedWork {
    std::vector<std::size_t> by;
    double hours = 0.0;
    std::vector<double> split;  // hours per entry of `by`
};

/// Splits the work so that the busiest resource is as little busy as possible: each class in turn
/// fills its resources to one level, given what the others put there. That is coordinate descent on
/// the sum of capacity x utilisation^2, whose minimum is also the fairest split.
void balance(std::vector<SharedWork>& classes, const std::vector<double>& capacity,
             std::vector<double>& load) {
    for (int sweep = 0; sweep < 200; ++sweep) {
        for (auto& c : classes) {
            for (std::size_t k = 0; k < c.by.size(); ++k)
                load[c.by[k]] -= c.split[k];
            std::sort(c.by.begin(), c.by.end(), [&](std::size_t a, std::size_t b) {
                return std::pair(load[a] / capacity[a], a) < std::pair(load[b] / capacity[b], b);
            });
            double together = 0.0;
            double filled = c.hours;
            double level = 0.0;
            std::size_t used = 0;
            while (used < c.by.size() &&
                   (used == 0 || load[c.by[used]] / capacity[c.by[used]] < level)) {
                together += capacity[c.by[used]];
                filled += load[c.by[used]];
                level = filled / together;
                ++used;
            }
            for (std::size_t k = 0; k < c.by.size(); ++k) {
                const std::size_t r = c.by[k];
                c.split[k] = k < used ? level * capacity[r] - load[r] : 0.0;
                load[r] += c.split[k];
            }
        }
    }
}

}  // namespace

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
    // Capacity of each resource in unit-hours of the first day.
    const double open_h = static_cast<double>((room.hours.to - room.hours.from).count()) / 3600.0;
    std::vector<double> capacity(p.resources.size());
    for (std::size_t r = 0; r < capacity.size(); ++r) {
        double staffed_h = open_h;
        if (p.resources[r].calendar) {
            std::int64_t s = 0;
            for (const auto& w : *p.resources[r].calendar)
                s += core::overlap(w.from, w.to, room.hours).count();
            staffed_h = static_cast<double>(s) / 3600.0;
        }
        capacity[r] = staffed_h * p.resources[r].capacity;
    }
    std::map<std::vector<std::size_t>, double> work;  // hours, by who could do it
    double raw = 0.0;
    for (int i = 0; i < run; ++i) {
        const auto& modes = p.operations[static_cast<std::size_t>(i)].modes;
        const auto& first = modes.front();
        double alone = static_cast<double>(first.work.count());
        double full = alone;
        if (!first.stages.empty()) {
            const auto& cabinet = p.resources[first.needs.front().any_of.front().index()];
            alone = drying_length(first, cabinet, room.hours.from, 1.0);
            full = drying_length(first, cabinet, room.hours.from, cabinet.capacity);
        }
        raw += alone;
        for (std::size_t n = 0; n < first.needs.size(); ++n) {
            std::vector<std::size_t> by;
            for (const auto& mode : modes) {
                if (n >= mode.needs.size()) continue;
                for (const auto r : mode.needs[n].any_of) {
                    if (capacity[r.index()] > 0.0) by.push_back(r.index());
                }
            }
            std::sort(by.begin(), by.end());
            by.erase(std::unique(by.begin(), by.end()), by.end());
            if (!by.empty()) work[by] += full / 3600.0 * first.needs[n].amount;
        }
    }
    std::vector<SharedWork> classes;
    for (const auto& [by, hours] : work)
        classes.push_back({by, hours, std::vector<double>(by.size(), 0.0)});
    std::vector<double> load(capacity.size(), 0.0);
    balance(classes, capacity, load);
    std::size_t limit = 0;
    double most = 0.0;
    for (std::size_t r = 0; r < load.size(); ++r) {
        if (capacity[r] > 0.0 && load[r] / capacity[r] > most * (1.0 + 1e-9)) {
            most = load[r] / capacity[r];
            limit = r;
        }
    }
    if (most <= 0.0) return t;
    t.bottleneck = p.resources[limit].name;
    t.screens_a_day = screens / most;
    t.units = p.resources[limit].capacity;
    t.load = most * t.units;
    t.square_root_units = theory::square_root_servers(t.load, 1.0);
    t.bottleneck_rate = t.screens_a_day / std::max(open_h, 1e-9);
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
    if (cell.busiest > 0.8 && t.load > 0.7 * t.units && cell.bottleneck != t.bottleneck &&
        cell.next != t.bottleneck) {
        out.push_back(fmt::format("Theory names {} as the limit, the days {} and then {}.",
                                  t.bottleneck, cell.bottleneck, cell.next));
    }
    return out;
}

}  // namespace sched::study
