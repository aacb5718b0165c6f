#include "sched/statistics/work_clock.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace sched::study {

namespace {

constexpr double week_seconds = 7.0 * 86400.0;
constexpr double idle_rate = 0.02;
// 1970-01-01 was a Thursday; weeks begin on Mondays.
constexpr double first_monday = -3.0 * 86400.0;

}  // namespace

WorkClock WorkClock::of(const model::Room& room) {
    std::vector<std::pair<double, double>> open;
    for (const auto& person : room.people) {
        for (const auto& shift : person.shifts) {
            for (int day = 0; day < 7; ++day) {
                if (!shift.weekdays[static_cast<std::size_t>(day)]) continue;
                const double from = 86400.0 * day + static_cast<double>(shift.from.count());
                const double to =
                    86400.0 * day + static_cast<double>((shift.to + person.overtime).count());
                open.emplace_back(from, std::min(to, week_seconds));
                if (to > week_seconds) open.emplace_back(0.0, to - week_seconds);  // Sunday night
            }
        }
    }
    WorkClock clock;
    std::erase_if(open, [](const auto& o) { return !(o.first < o.second); });
    if (open.empty()) return clock;
    std::sort(open.begin(), open.end());
    double time = 0.0, shown = 0.0;
    const auto to = [&](double until, double rate) {
        if (until <= time) return;
        shown += rate * (until - time);
        time = until;
        clock.week_.push_back({time, shown});
    };
    clock.week_.push_back({0.0, 0.0});
    for (const auto& [from, until] : open) {
        to(from, idle_rate);
        to(until, 1.0);
    }
    to(week_seconds, idle_rate);
    return clock;
}

double WorkClock::reading(model::SimTime t) const {
    const double s = static_cast<double>(t.time_since_epoch().count()) - first_monday;
    if (week_.empty()) return s;
    const double weeks = std::floor(s / week_seconds);
    const double in = s - weeks * week_seconds;
    const auto next = std::upper_bound(week_.begin() + 1, week_.end() - 1, in,
                                       [](double v, const Knot& k) { return v < k.time; });
    const auto& a = *(next - 1);
    const auto& b = *next;
    return weeks * week_.back().reading + a.reading +
           (in - a.time) * (b.reading - a.reading) / (b.time - a.time);
}

model::SimTime WorkClock::at(double reading) const {
    double s = reading;
    if (!week_.empty()) {
        const double whole = week_.back().reading;
        const double weeks = std::floor(reading / whole);
        const double in = reading - weeks * whole;
        const auto next = std::upper_bound(week_.begin() + 1, week_.end() - 1, in,
                                           [](double v, const Knot& k) { return v < k.reading; });
        const auto& a = *(next - 1);
        const auto& b = *next;
        s = weeks * week_seconds + a.time +
            (in - a.reading) * (b.time - a.time) / (b.reading - a.reading);
    }
    // Readings are sums of products: a thousandth of a second is no second.
    return model::SimTime{
        model::Seconds{static_cast<std::int64_t>(std::ceil(s + first_monday - 1e-3))}};
}

}  // namespace sched::study
