// From days simulated to what they say. Reads the head and the days only, so that days from one run
// and days joined from shards cannot differ.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "sched/size/size_day.hpp"
#include "sched/statistics/probability.hpp"

namespace sched::study {
namespace {

using Days = std::vector<const SizeDay*>;

std::size_t decision_volume(const std::vector<double>& volumes) {
    std::size_t best = 0;
    for (std::size_t v = 1; v < volumes.size(); ++v) {
        if (std::abs(volumes[v] - 1.0) < std::abs(volumes[best] - 1.0)) best = v;
    }
    return best;
}

/// Mean over the days of the cell; difference to today over the days that both simulated to their
/// end.
SizeFigure figure(const Days& here, const Days& today, double confidence, auto value) {
    std::vector<double> all, a, b;
    for (const auto* d : here)
        all.push_back(static_cast<double>(value(*d)));
    std::size_t t = 0;
    for (const auto* d : here) {
        while (t < today.size() && today[t]->day < d->day)
            ++t;
        if (t < today.size() && today[t]->day == d->day) {
            a.push_back(static_cast<double>(value(*d)));
            b.push_back(static_cast<double>(value(*today[t])));
        }
    }
    SizeFigure f;
    if (!all.empty()) f.mean = mean_interval(all, confidence);
    if (a.size() >= 2) f.to_today = paired_difference(a, b, confidence);
    return f;
}

/// Share of orders on time as a ratio of two sums over days (Law, ch. 4; the classical ratio
/// estimator): orders of one day share their random variation, so days are what is counted as
/// independent.
void on_time_share(const Days& days, double confidence, double& share, Interval& interval) {
    double orders = 0.0;
    double late = 0.0;
    for (const auto* d : days) {
        orders += d->orders;
        late += d->late;
    }
    if (orders <= 0.0) return;
    const double p = late / orders;
    const double n = static_cast<double>(days.size());
    double squares = 0.0;
    for (const auto* d : days) {
        const double e = d->late - p * d->orders;
        squares += e * e;
    }
    share = 1.0 - p;
    double half = 1.0;
    if (days.size() >= 2) {
        half = t_quantile(0.5 + 0.5 * confidence, n - 1.0) * std::sqrt(squares / (n - 1.0) / n) /
               (orders / n);
    }
    interval = {std::max(0.0, share - half), std::min(1.0, share + half)};
}

/// Today's room on the days that `here` simulated too.
Days same_days(const Days& today, const Days& here) {
    Days out;
    std::size_t h = 0;
    for (const auto* d : today) {
        while (h < here.size() && here[h]->day < d->day)
            ++h;
        if (h < here.size() && here[h]->day == d->day) out.push_back(d);
    }
    return out;
}

/// More places or people, and all that was there.
bool only_adds(const std::vector<std::string>& today, const std::vector<std::string>& changed) {
    return changed.size() > today.size() &&
           std::all_of(today.begin(), today.end(), [&](const std::string& name) {
               return std::find(changed.begin(), changed.end(), name) != changed.end();
           });
}

/// Last volume, linear between points, up to which the wanted share of the orders is on time.
std::optional<double> copes_to(const std::vector<double>& volumes, double wanted, auto on_time) {
    if (volumes.empty() || on_time(0) < wanted) return std::nullopt;
    for (std::size_t v = 1; v < volumes.size(); ++v) {
        const double before = on_time(v - 1);
        const double here = on_time(v);
        if (here < wanted) {
            return volumes[v - 1] +
                   (before - wanted) / (before - here) * (volumes[v] - volumes[v - 1]);
        }
    }
    return volumes.back();
}

/// Which resource is busiest on most days, and which would be without it.
void name_limits(const Days& days, const std::vector<std::string>& names, auto& c) {
    std::map<int, std::pair<std::size_t, double>> first, second;  // times seen, sum of shares
    const auto count = [](auto& in, int r, double share) {
        if (r < 0) return;
        ++in[r].first;
        in[r].second += share;
    };
    const auto most = [](const auto& in) {
        int best = -1;
        std::size_t n = 0;
        for (const auto& [r, seen] : in) {
            if (seen.first > n) {
                n = seen.first;
                best = r;
            }
        }
        return best;
    };
    for (const auto* d : days)
        count(first, d->busiest, d->busiest_share);
    const int limit = most(first);
    if (limit < 0) return;
    const auto mean = [](const std::pair<std::size_t, double>& seen) {
        return seen.second / static_cast<double>(seen.first);
    };
    c.bottleneck = names[static_cast<std::size_t>(limit)];
    c.busiest = mean(first[limit]);
    for (const auto* d : days) {
        if (d->busiest == limit) {
            count(second, d->next, d->next_share);
        } else {
            count(second, d->busiest, d->busiest_share);
        }
    }
    const int next = most(second);
    if (next < 0) return;
    c.next = names[static_cast<std::size_t>(next)];
    c.next_busiest = mean(second[next]);
}

SizeCell cell_of(const SizeHead& head, const Days& here, const Days& today) {
    SizeCell c;
    c.days = here.size();
    const double conf = head.confidence;
    on_time_share(here, conf, c.on_time, c.on_time_interval);
    Interval ignored;
    on_time_share(same_days(today, here), conf, c.today_on_time, ignored);
    c.late = figure(here, today, conf, [](const SizeDay& d) { return d.late; });
    c.screens = figure(here, today, conf, [](const SizeDay& d) { return d.screens; });
    c.tardiness_h = figure(here, today, conf, [](const SizeDay& d) { return d.tardiness_h; });
    c.turnaround_p90_h =
        figure(here, today, conf, [](const SizeDay& d) { return d.turnaround_p90_h; });
    c.overtime_h = figure(here, today, conf, [](const SizeDay& d) { return d.overtime_h; });
    c.energy_kwh = figure(here, today, conf, [](const SizeDay& d) { return d.energy_kwh; });
    c.cost = figure(here, today, conf, [](const SizeDay& d) { return d.cost; });
    return c;
}

MoneyCase case_of(const SizeCell& c, const SizeRoomHead& room, const Prices& prices) {
    Difference saving = c.cost.to_today;
    saving.difference = -saving.difference;
    saving.interval = {-c.cost.to_today.interval.high, -c.cost.to_today.interval.low};
    return money_case(saving, room.costs, prices);
}

/// The selection replayed from the days at hand: the same whether they came from one run or shards.
Ranking rank(const SizeHead& head, const std::vector<Days>& simulated,
             const std::set<std::uint64_t>& broken, bool interrupted) {
    const std::size_t k = head.rooms.size();
    std::vector<std::vector<double>> value(k);
    std::size_t most = 0;
    std::size_t least = SIZE_MAX;
    for (std::size_t o = 0; o < k; ++o) {
        const double own =
            o == 0 || !head.by_money
                ? 0.0
                : money_case({}, head.rooms[o].costs, head.prices).needed_saving_a_day;
        std::uint64_t expected = 0;
        for (const auto* d : simulated[o]) {
            while (expected < d->day && broken.contains(expected))
                ++expected;
            if (d->day != expected) break;  // a gap (interrupted): what follows has no partner
            ++expected;
            if (broken.contains(d->day)) continue;
            value[o].push_back((head.by_money ? d->cost : d->tardiness_h) + own);
        }
        most = std::max(most, value[o].size());
        least = std::min(least, value[o].size());
    }
    Ranking r;
    r.in.assign(k, true);
    r.replications.assign(k, 0);
    r.mean.assign(k, 0.0);
    const auto first =
        std::max<std::size_t>(2, head.least - std::min<std::size_t>(head.least, broken.size()));
    if (least < first) {
        if (!interrupted || least < 2) return r;
        // Too few days for the selection's promise; who is best so far can be said all the same.
        for (std::size_t o = 0; o < k; ++o) {
            Moments m;
            for (std::size_t day = 0; day < least; ++day)
                m.add(value[o][day]);
            r.mean[o] = m.mean();
            r.replications[o] = least;
        }
        r.best = static_cast<int>(std::min_element(r.mean.begin(), r.mean.end()) - r.mean.begin());
        return r;
    }
    return select_best(
        static_cast<int>(k),
        {.indifference = head.indifference,
         .confidence = head.confidence,
         .first = first,
         .most = most,
         .largest = false},
        [&](std::span<const int> who, std::size_t from, std::size_t to) {
            std::vector<std::vector<double>> out;
            for (const int o : who) {
                const auto& v = value[static_cast<std::size_t>(o)];
                out.emplace_back(v.begin() + static_cast<std::ptrdiff_t>(from),
                                 v.begin() + static_cast<std::ptrdiff_t>(to));
            }
            return out;
        },
        [&](const Ranking& now) {  // go on while all that are in have simulated one more day
            for (std::size_t o = 0; o < k; ++o) {
                if (now.in[o] && value[o].size() <= now.replications[o]) return false;
            }
            return true;
        });
}

/// More work is never easier: neighbours that say so by chance share their mean (pool adjacent
/// violators; Barlow and others 1972).
template <class Value>
void never_easier(SizeResult& r, std::size_t option, Value value) {
    struct Pool {
        double sum;
        std::size_t size;
        double mean() const { return sum / static_cast<double>(size); }
    };
    const std::size_t volumes = r.head.volumes.size();
    std::vector<Pool> pools;
    for (std::size_t v = 0; v < volumes; ++v) {
        pools.push_back({value(r.cells[option * volumes + v]), 1});
        while (pools.size() > 1 && pools.back().mean() > pools[pools.size() - 2].mean()) {
            const Pool last = pools.back();
            pools.pop_back();
            pools.back().sum += last.sum;
            pools.back().size += last.size;
        }
    }
    std::size_t v = 0;
    for (const Pool& pool : pools) {
        for (std::size_t k = 0; k < pool.size; ++k)
            value(r.cells[option * volumes + v++]) = pool.mean();
    }
}

/// Curves over volumes from the days that every room simulated: a room that is left out
/// early has had other days than one that goes on, and a few kind days would look like a better
/// room.
void add_curves(SizeResult& r) {
    const SizeHead& h = r.head;
    const std::uint64_t until = h.every_day ? h.most : h.least;
    for (std::size_t v = 0; v < h.volumes.size(); ++v) {
        std::map<std::uint64_t, std::size_t> ended;  // rooms, by day
        for (const auto& d : r.all) {
            if (static_cast<std::size_t>(d.volume) == v && d.counts() && d.day < until)
                ++ended[d.day];
        }
        r.volumes_simulated =
            r.volumes_simulated && std::any_of(ended.begin(), ended.end(),
                                               [&](auto& e) { return e.second == h.rooms.size(); });
        for (std::size_t o = 0; o < h.rooms.size(); ++o) {
            SizeCell& c = r.cells[o * h.volumes.size() + v];
            Days common;
            for (const auto& d : r.all) {
                if (static_cast<std::size_t>(d.option) == o &&
                    static_cast<std::size_t>(d.volume) == v && d.counts() && d.day < until &&
                    ended[d.day] == h.rooms.size()) {
                    common.push_back(&d);
                }
            }
            on_time_share(common, h.confidence, c.curve, c.curve_interval);
        }
    }
    for (std::size_t o = 0; o < h.rooms.size(); ++o) {
        never_easier(r, o, [](SizeCell& c) -> double& { return c.curve; });
        never_easier(r, o, [](SizeCell& c) -> double& { return c.curve_interval.low; });
        never_easier(r, o, [](SizeCell& c) -> double& { return c.curve_interval.high; });
    }
}

}  // namespace

SizeResult size_result(SizeHead head, std::vector<SizeDay> days, bool interrupted) {
    SizeResult r;
    r.head = std::move(head);
    std::sort(days.begin(), days.end(), [](const SizeDay& a, const SizeDay& b) {
        return std::tie(a.option, a.volume, a.day) < std::tie(b.option, b.volume, b.day);
    });
    r.all = std::move(days);
    const SizeHead& h = r.head;
    const std::size_t volumes = h.volumes.size();
    const std::size_t rooms = h.rooms.size();
    r.decision = decision_volume(h.volumes);
    std::vector<Days> cell(rooms * volumes);
    std::vector<std::size_t> incomplete(cell.size(), 0);
    std::set<std::uint64_t> broken;  // days that some room has not simulated
    std::vector<Days> decisive(rooms);
    for (const auto& d : r.all) {
        const std::size_t o = static_cast<std::size_t>(d.option);
        const std::size_t v = static_cast<std::size_t>(d.volume);
        if (v == r.decision) decisive[o].push_back(&d);
        if (!d.complete) ++incomplete[o * volumes + v];
        if (d.counts())
            cell[o * volumes + v].push_back(&d);
        else if (v == r.decision)
            broken.insert(d.day);
    }
    for (std::size_t o = 0; o < rooms; ++o) {
        for (std::size_t v = 0; v < volumes; ++v) {
            SizeCell c = cell_of(h, cell[o * volumes + v], cell[v]);
            c.option = static_cast<int>(o);
            c.volume = static_cast<int>(v);
            c.incomplete = incomplete[o * volumes + v];
            name_limits(cell[o * volumes + v], h.rooms[o].resources, c);
            r.cells.push_back(std::move(c));
        }
    }
    for (std::size_t o = 0; o < rooms && h.kinds.size() > 1; ++o) {
        for (std::size_t k = 0; k < h.kinds.size(); ++k) {
            const auto of_kind = [&](const Days& all) {
                Days some;
                std::copy_if(all.begin(), all.end(), std::back_inserter(some),
                             [&](const SizeDay* d) { return d->kind == static_cast<int>(k); });
                return some;
            };
            const Days here = of_kind(cell[o * volumes + r.decision]);
            const SizeCell c = cell_of(h, here, of_kind(cell[r.decision]));
            r.kinds.push_back({.option = static_cast<int>(o),
                               .kind = static_cast<int>(k),
                               .days = c.days,
                               .on_time = c.on_time,
                               .tardiness_h = c.tardiness_h,
                               .today_on_time = c.today_on_time});
            name_limits(here, h.rooms[o].resources, r.kinds.back());
        }
    }
    add_curves(r);
    r.coping = h.coping > 0.0 ? h.coping : r.cell(0, r.decision).curve;
    for (std::size_t o = 0; o < rooms; ++o) {
        std::vector<double> values, low, high;
        for (std::size_t v = 0; v < volumes; ++v) {
            const MoneyCase m = case_of(r.cell(o, v), h.rooms[o], h.prices);
            values.push_back(m.net_present_value);
            low.push_back(m.value_interval.low);
            high.push_back(m.value_interval.high);
        }
        r.money.push_back(o == 0 ? MoneyCase{}
                                 : case_of(r.cell(o, r.decision), h.rooms[o], h.prices));
        r.break_even.emplace_back();
        if (o > 0 && h.by_money && r.volumes_simulated) {
            r.break_even.back() = {.at = break_even(h.volumes, values),
                                   .low = break_even(h.volumes, high),
                                   .high = break_even(h.volumes, low)};
        }
        const auto at = [&](std::size_t v) -> const SizeCell& { return r.cell(o, v); };
        SizeResult::Copes copes;
        copes.to = copes_to(h.volumes, r.coping, [&](std::size_t v) { return at(v).curve; });
        copes.low =
            copes_to(h.volumes, r.coping, [&](std::size_t v) { return at(v).curve_interval.low; });
        copes.high =
            copes_to(h.volumes, r.coping, [&](std::size_t v) { return at(v).curve_interval.high; });
        copes.beyond = at(volumes - 1).curve >= r.coping && copes.to;
        r.copes.push_back(r.volumes_simulated ? copes : SizeResult::Copes{});
        r.disagree.push_back(disagreements(h.rooms[o].theory, r.cell(o, r.decision),
                                           cell[o * volumes + r.decision]));
        const Difference& late = r.cell(o, r.decision).late.to_today;
        if (o > 0 && late.df > 0.0 && late.interval.low > 0.0 &&
            only_adds(h.rooms[0].resources, h.rooms[o].resources)) {
            r.disagree.back().push_back(fmt::format(
                "It only adds, yet {:.1f} orders more are late a day ({:.1f} to {:.1f}): whoever "
                "is free takes what comes next, and nobody holds work back. A lead would leave it "
                "unused; read it as no gain.",
                late.difference, late.interval.low, late.interval.high));
        }
    }
    r.ranking = rank(h, decisive, broken, interrupted);
    const std::size_t best = static_cast<std::size_t>(std::max(0, r.ranking.best));
    const Precision wanted{.relative = h.precision, .confidence = h.confidence, .least = 2};
    r.precise = precise_enough(r.cell(best, r.decision).turnaround_p90_h.mean, wanted);
    r.end = interrupted ? SizeEnd::Interrupted : r.ranking.decided ? SizeEnd::Clear : SizeEnd::Days;
    add_words(r);
    return r;
}

}  // namespace sched::study
