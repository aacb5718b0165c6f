// How it works: hour by hour, gaps between orders are exponential by the hour's rate, each drawn by
// day, hour and number; or the day of the same weekday that a draw names is repeated, order by
// order. What an order is goes by the kinds' weights.

#include "sched/chance/arrivals.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace sched::study {

namespace {

constexpr std::int64_t hour = 3600, a_day = 86'400;

int kind_by(const std::vector<double>& weight, double u) {
    double left = u * std::accumulate(weight.begin(), weight.end(), 0.0);
    for (std::size_t k = 0; k < weight.size(); ++k) {
        if (left < weight[k]) return static_cast<int>(k);
        left -= weight[k];
    }
    return static_cast<int>(weight.size()) - 1;
}

}  // namespace

bool ArrivalProcess::from_history() const {
    return std::any_of(history.begin(), history.end(), [](const auto& d) { return !d.empty(); });
}

void ArrivalProcess::draw(std::int64_t from, const engine::Draws& draws,
                          std::vector<Arrival>& out) const {
    static const std::uint64_t subject = engine::name_key("orders coming in");
    static const std::uint64_t gap = engine::name_key("gap"), what = engine::name_key("kind"),
                               past = engine::name_key("past day");
    const bool past_days = from_history();
    for (std::int64_t h = from / hour; h < from / hour + 24; ++h) {
        const auto weekday = static_cast<std::size_t>(h * hour / a_day % 7);
        const auto item = static_cast<std::uint64_t>(h);
        if (past_days) {
            const auto& days = history[weekday];
            if (days.empty()) continue;
            const auto day = static_cast<std::uint64_t>(h * hour / a_day);
            const double u = draws.uniform({subject, day, past, 0});
            const auto& orders =
                days[static_cast<std::size_t>(u * static_cast<double>(days.size()))];
            const std::int64_t begin = h * hour % a_day;
            for (std::size_t n = 0; n < orders.size(); ++n) {
                const auto& o = orders[n];
                if (o.second < begin || o.second >= begin + hour) continue;
                const int kind = o.kind >= 0
                                     ? o.kind
                                     : kind_by(kind_weight, draws.uniform({subject, day, what, n}));
                out.push_back({h * hour / a_day * a_day + o.second, kind, item * 1000 + n});
            }
            continue;
        }
        const double rate = per_hour[weekday][static_cast<std::size_t>(h % 24)];
        if (rate <= 0.0) continue;
        double at = 0.0;
        for (std::uint64_t n = 0;; ++n) {
            at +=
                engine::exponential_inverse(3600.0 / rate, draws.uniform({subject, item, gap, n}));
            if (at >= 3600.0) break;
            const int kind = kind_by(kind_weight, draws.uniform({subject, item, what, n}));
            out.push_back({h * hour + static_cast<std::int64_t>(at), kind, item * 1000 + n});
        }
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const Arrival& a, const Arrival& b) { return a.at < b.at; });
}

ArrivalProcess times_as_many(ArrivalProcess process, double factor) {
    for (auto& day : process.per_hour) {
        for (double& rate : day)
            rate *= factor;
    }
    for (auto& days : process.history) {
        for (auto& day : days) {
            ArrivalProcess::PastDay more;
            for (std::size_t k = 0; k < day.size(); ++k) {
                const auto upto = [&](std::size_t n) {
                    return static_cast<std::int64_t>(std::floor(static_cast<double>(n) * factor));
                };
                more.insert(more.end(), static_cast<std::size_t>(upto(k + 1) - upto(k)), day[k]);
            }
            day = std::move(more);
        }
    }
    return process;
}

ArrivalProcess even_arrivals(double orders_a_day, const std::array<bool, 7>& weekdays,
                             int from_hour, int to_hour, std::vector<double> kind_weight) {
    ArrivalProcess out;
    out.kind_weight = std::move(kind_weight);
    for (std::size_t d = 0; d < 7; ++d) {
        for (int h = from_hour; weekdays[d] && h < to_hour; ++h) {
            const auto day = (d + static_cast<std::size_t>(h / 24)) % 7;
            out.per_hour[day][static_cast<std::size_t>(h % 24)] +=
                orders_a_day / static_cast<double>(to_hour - from_hour);
        }
    }
    return out;
}

OpenWeek open_week(const model::Room& room) {
    OpenWeek week;
    for (const auto& person : room.people) {
        for (const auto& shift : person.shifts) {
            for (std::size_t d = 0; d < 7; ++d)
                week.weekdays[d] = week.weekdays[d] || shift.weekdays[d];
            week.from_hour = std::min(week.from_hour, static_cast<int>(shift.from.count() / 3600));
            week.to_hour =
                std::max(week.to_hour, static_cast<int>((shift.to.count() + 3599) / 3600));
        }
    }
    week.to_hour = std::min(week.to_hour, week.from_hour + 24);
    if (week.from_hour >= week.to_hour) week = {{}, 0, 24};
    return week;
}

ArrivalProcess arrivals_of(const model::ChanceSettings& settings,
                           const std::vector<model::PastOrder>& past,
                           const model::Scenario& scenario) {
    std::vector<double> weight(scenario.orders.size(), settings.kinds.empty() ? 1.0 : 0.0);
    const auto number_of = [&](const std::string& name) {
        const auto found = std::find_if(scenario.orders.begin(), scenario.orders.end(),
                                        [&](const auto& o) { return o.name == name; });
        return found == scenario.orders.end() ? -1
                                              : static_cast<int>(found - scenario.orders.begin());
    };
    for (const auto& kind : settings.kinds) {
        const int k = number_of(kind.order);
        if (k >= 0) weight[static_cast<std::size_t>(k)] = kind.weight;
    }
    if (std::all_of(weight.begin(), weight.end(), [](double w) { return w <= 0.0; }))
        weight.assign(weight.size(), 1.0);
    const OpenWeek open = open_week(scenario.room);
    ArrivalProcess out =
        even_arrivals(settings.arrivals.empty() ? static_cast<double>(scenario.orders.size()) : 0.0,
                      open.weekdays, open.from_hour, open.to_hour, std::move(weight));
    for (const auto& law : settings.arrivals) {
        for (std::size_t d = 0; d < 7; ++d) {
            if (!law.when.weekdays[d]) continue;
            for (std::int64_t h = law.when.from.count() / hour; h < law.when.to.count() / hour; ++h)
                out.per_hour[(d + static_cast<std::size_t>(h / 24)) % 7]
                            [static_cast<std::size_t>(h % 24)] += law.orders_an_hour;
        }
    }
    if (past.empty()) return out;
    // Every date between the first and the last line is a day as it was, also one without orders.
    std::int64_t first = past.front().at.time_since_epoch().count() / a_day, last = first;
    for (const auto& o : past) {
        first = std::min<std::int64_t>(first, o.at.time_since_epoch().count() / a_day);
        last = std::max<std::int64_t>(last, o.at.time_since_epoch().count() / a_day);
    }
    for (std::int64_t day = first; day <= last; ++day) {
        ArrivalProcess::PastDay orders;
        for (const auto& o : past) {
            const std::int64_t at = o.at.time_since_epoch().count();
            if (at / a_day == day)
                orders.push_back({static_cast<std::int32_t>(at % a_day), number_of(o.order)});
        }
        std::stable_sort(orders.begin(), orders.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
        const auto weekday = static_cast<std::size_t>((day + 3) % 7);  // 1970-01-01: a Thursday
        out.history[weekday].push_back(std::move(orders));
    }
    return out;
}

}  // namespace sched::study
