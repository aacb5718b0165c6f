#include "sched/study/size.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <charconv>
#include <cmath>
#include <limits>
#include <map>
#include <memory>
#include <thread>
#include <tuple>

#include "sched/study/size_day.hpp"

namespace sched::study {
namespace {

/// Mean over the days of the cell; difference to today over the days that both lived to their end.
SizeFigure figure(const std::vector<const SizeDay*>& here, const std::vector<const SizeDay*>& today,
                  double confidence, auto value) {
    std::vector<double> all, a, b;
    for (const auto* d : here)
        all.push_back(value(*d));
    std::size_t t = 0;
    for (const auto* d : here) {
        while (t < today.size() && today[t]->day < d->day)
            ++t;
        if (t < today.size() && today[t]->day == d->day) {
            a.push_back(value(*d));
            b.push_back(value(*today[t]));
        }
    }
    SizeFigure f;
    if (!all.empty()) f.mean = mean_interval(all, confidence);
    if (a.size() >= 2) f.to_today = paired_difference(a, b, confidence);
    return f;
}

std::size_t decision_volume(const std::vector<double>& volumes) {
    std::size_t best = 0;
    for (std::size_t v = 1; v < volumes.size(); ++v) {
        if (std::abs(volumes[v] - 1.0) < std::abs(volumes[best] - 1.0)) best = v;
    }
    return best;
}

/// What a change costs on one working day, everything spread over its life.
double change_a_day(const model::ChangeFigures& f, const Prices& prices) {
    const ChangeCost cost{f.purchase,  f.installation, f.life_years,
                          f.left_over, f.upkeep,       f.floor_area};
    return money_case({}, cost, prices).needed_saving_a_day;
}

ChangeCost cost_of(const model::ChangeFigures& f) {
    return {f.purchase, f.installation, f.life_years, f.left_over, f.upkeep, f.floor_area};
}

/// Last volume, linear between points, up to which at least 95 % of the orders are on time.
std::optional<double> copes(const std::vector<double>& volumes,
                            const std::vector<double>& on_time) {
    constexpr double wanted = 0.95;
    if (on_time.empty() || on_time.front() < wanted) return std::nullopt;
    for (std::size_t v = 1; v < volumes.size(); ++v) {
        if (on_time[v] < wanted) {
            const double part = (on_time[v - 1] - wanted) / (on_time[v - 1] - on_time[v]);
            return volumes[v - 1] + part * (volumes[v] - volumes[v - 1]);
        }
    }
    return volumes.back();
}

std::string ranking_words(const SizeResult& r, const SizeOptions& settings) {
    std::string text;
    const std::size_t best = static_cast<std::size_t>(std::max(0, r.ranking.best));
    if (r.ranking.decided) {
        text = fmt::format("Cheapest per day, with {:.0f} % chance to be right within {:.0f}: {}.",
                           100 * settings.confidence, settings.indifference, r.options[best]);
    } else {
        text = fmt::format("Cheapest per day so far: {}; the days did not suffice to decide.",
                           r.options[best]);
    }
    for (std::size_t o = 1; o < r.options.size(); ++o) {
        text += " " + money_sentence(r.options[o], r.money[o], settings.confidence);
    }
    return text;
}

}  // namespace

SizeResult size_from_days(const std::vector<SizeOption>& options, const SizeOptions& settings,
                          std::vector<SizeDay> days) {
    SizeResult r;
    std::sort(days.begin(), days.end(), [](const SizeDay& a, const SizeDay& b) {
        return std::tie(a.option, a.volume, a.day) < std::tie(b.option, b.volume, b.day);
    });
    r.all = std::move(days);
    r.volumes = settings.volumes;
    for (const auto& o : options)
        r.options.push_back(o.change.name);
    const std::size_t volumes = settings.volumes.size();
    std::vector<std::vector<const SizeDay*>> cell(options.size() * volumes);
    std::vector<std::size_t> incomplete(cell.size(), 0);
    for (const auto& d : r.all) {
        const std::size_t c =
            static_cast<std::size_t>(d.option) * volumes + static_cast<std::size_t>(d.volume);
        if (d.complete) {
            cell[c].push_back(&d);
        } else {
            ++incomplete[c];
        }
    }
    const double conf = settings.confidence;
    for (std::size_t o = 0; o < options.size(); ++o) {
        for (std::size_t v = 0; v < volumes; ++v) {
            const auto& here = cell[o * volumes + v];
            const auto& today = cell[v];
            SizeCell c{.option = static_cast<int>(o), .volume = static_cast<int>(v)};
            c.days = here.size();
            c.incomplete = incomplete[o * volumes + v];
            std::int64_t orders = 0;
            std::int64_t late = 0;
            for (const auto* d : here) {
                orders += d->orders;
                late += d->late;
            }
            if (orders > 0) {
                c.on_time = static_cast<double>(orders - late) / static_cast<double>(orders);
                c.on_time_interval = wilson_interval(orders - late, orders, conf);
            }
            const auto fig = [&](double SizeDay::*m) {
                return figure(here, today, conf, [m](const SizeDay& d) { return d.*m; });
            };
            c.late = figure(here, today, conf,
                            [](const SizeDay& d) { return static_cast<double>(d.late); });
            c.screens = figure(here, today, conf,
                               [](const SizeDay& d) { return static_cast<double>(d.screens); });
            c.tardiness_h = fig(&SizeDay::tardiness_h);
            c.turnaround_p90_h = fig(&SizeDay::turnaround_p90_h);
            c.overtime_h = fig(&SizeDay::overtime_h);
            c.energy_kwh = fig(&SizeDay::energy_kwh);
            c.cost = fig(&SizeDay::cost);
            std::map<int, Moments> use;
            for (const auto* d : here)
                use[d->busiest].add(d->busiest_share);
            std::size_t most = 0;
            Moments share;
            for (const auto* d : here)
                share.add(d->busiest_share);
            for (const auto& [resource, m] : use) {
                if (m.count() > most) {
                    most = m.count();
                    c.bottleneck_index = resource;
                }
            }
            c.busiest = share.mean();
            r.cells.push_back(c);
        }
    }
    const std::size_t at = decision_volume(settings.volumes);
    for (std::size_t o = 0; o < options.size(); ++o) {
        std::vector<double> on_time, values;
        for (std::size_t v = 0; v < volumes; ++v) {
            const SizeCell& c = r.cells[o * volumes + v];
            on_time.push_back(c.on_time);
            Difference saving = c.cost.to_today;
            saving.difference = -saving.difference;
            saving.interval = {-c.cost.to_today.interval.high, -c.cost.to_today.interval.low};
            const MoneyCase m =
                money_case(saving, cost_of(options[o].change.figures), settings.prices);
            values.push_back(m.net_present_value);
            if (v == at) r.money.push_back(o == 0 ? MoneyCase{} : m);
        }
        r.break_even.push_back(o == 0 ? std::nullopt : break_even(settings.volumes, values));
        r.copes_to.push_back(copes(settings.volumes, on_time));
    }
    // The ranking replayed from the days at hand: the same whether they came from one run or
    // shards.
    std::vector<std::vector<double>> cost(options.size());
    std::size_t common = std::numeric_limits<std::size_t>::max();
    for (std::size_t o = 0; o < options.size(); ++o) {
        const double own = change_a_day(options[o].change.figures, settings.prices);
        for (const auto* d : cell[o * volumes + at]) {
            cost[o].push_back(d->cost + (o == 0 ? 0.0 : own));
        }
        common = std::min(common, cost[o].size());
    }
    r.ranking.in.assign(options.size(), true);
    if (common >= std::max<std::size_t>(2, settings.least)) {
        r.ranking =
            select_best(static_cast<int>(options.size()),
                        {.indifference = settings.indifference,
                         .confidence = settings.confidence,
                         .first = std::max<std::size_t>(2, settings.least),
                         .most = common,
                         .largest = false},
                        [&](std::span<const int> who, std::size_t from, std::size_t to) {
                            std::vector<std::vector<double>> out;
                            for (const int o : who) {
                                const auto& c = cost[static_cast<std::size_t>(o)];
                                out.emplace_back(c.begin() + static_cast<std::ptrdiff_t>(from),
                                                 c.begin() + static_cast<std::ptrdiff_t>(to));
                            }
                            return out;
                        });
    }
    r.conclusion = ranking_words(r, settings);
    return r;
}

namespace {

/// Lives the given days of the given rooms in parallel; the order of `days` is kept.
void live_days(const std::vector<std::unique_ptr<SizeRoom>>& rooms, const SizeOptions& settings,
               std::vector<SizeDay>& days) {
    std::atomic<std::size_t> next{0};
    const auto work = [&] {
        for (std::size_t i = next++; i < days.size(); i = next++) {
            SizeDay& d = days[i];
            d = live_size_day(*rooms[static_cast<std::size_t>(d.option)], settings, d.option,
                              d.volume, d.day);
        }
    };
    std::vector<std::jthread> pool;
    for (int t = 1; t < settings.threads; ++t)
        pool.emplace_back(work);
    work();
}

std::optional<std::vector<std::unique_ptr<SizeRoom>>> open_rooms(
    const std::vector<SizeOption>& options, const SizeOptions& settings, std::string& problem) {
    std::vector<std::unique_ptr<SizeRoom>> rooms;
    for (const auto& o : options) {
        auto room = open_size_room(o.scenario, settings, problem);
        if (!room) {
            problem = o.change.name + ": " + problem;
            return std::nullopt;
        }
        rooms.push_back(std::move(room));
    }
    return rooms;
}

void name_bottlenecks(SizeResult& r, const std::vector<std::unique_ptr<SizeRoom>>& rooms,
                      const std::vector<SizeOption>& options, const SizeOptions& settings) {
    for (auto& c : r.cells) {
        if (c.bottleneck_index >= 0) {
            c.bottleneck =
                size_resource_name(*rooms[static_cast<std::size_t>(c.option)], c.bottleneck_index);
        }
    }
    for (std::size_t o = 0; o < options.size(); ++o) {
        r.theory.push_back(size_theory(*rooms[o], static_cast<int>(o)));
        const SizeCell& c =
            r.cells[o * settings.volumes.size() + decision_volume(settings.volumes)];
        r.theory.back().disagrees = c.screens.mean.mean > 1.05 * r.theory.back().screens_a_day;
    }
}

}  // namespace

std::optional<SizeResult> size_study(const std::vector<SizeOption>& options,
                                     const SizeOptions& settings, std::string& problem) {
    const auto rooms = open_rooms(options, settings, problem);
    if (!rooms) return std::nullopt;
    std::vector<SizeDay> all;
    const std::size_t at = decision_volume(settings.volumes);
    const auto live = [&](const std::vector<std::size_t>& who,
                          const std::vector<std::size_t>& where, std::size_t from, std::size_t to) {
        std::vector<SizeDay> batch;
        for (std::size_t day = from; day < to; ++day) {
            for (const std::size_t v : where) {
                for (const std::size_t o : who) {
                    batch.push_back(
                        {.option = static_cast<int>(o), .volume = static_cast<int>(v), .day = day});
                }
            }
        }
        live_days(*rooms, settings, batch);
        all.insert(all.end(), batch.begin(), batch.end());
    };
    std::vector<std::size_t> everyone, elsewhere;
    for (std::size_t o = 0; o < options.size(); ++o)
        everyone.push_back(o);
    for (std::size_t v = 0; v < settings.volumes.size(); ++v) {
        if (v != at) elsewhere.push_back(v);
    }
    const std::size_t first = std::min(settings.most, std::max<std::size_t>(2, settings.least));
    live(everyone, {at}, 0, first);
    live(everyone, elsewhere, 0, first);
    // More days where they decide: rooms still in the race at the volume of the decision; today's
    // stays in, because differences are to it.
    std::size_t done = first;
    SizeResult r = size_from_days(options, settings, all);
    while (true) {
        if (settings.progress) {
            settings.progress(fmt::format(
                "{} days a room; {} of {} still in; cheapest so far {}", done,
                std::count(r.ranking.in.begin(), r.ranking.in.end(), true), options.size(),
                r.options[static_cast<std::size_t>(std::max(0, r.ranking.best))]));
        }
        const SizeCell& best = r.cells[static_cast<std::size_t>(std::max(0, r.ranking.best)) *
                                           settings.volumes.size() +
                                       at];
        const bool narrow = best.cost.mean.half_width <=
                            std::max(1.0, settings.precision * std::abs(best.cost.mean.mean));
        if ((r.ranking.decided && narrow) || done >= settings.most ||
            (settings.stop && settings.stop())) {
            break;
        }
        // All rooms go on together: a room that is out keeps its interval to today as wide as it
        // was when it left would save days but make the shards' answer another one.
        const std::size_t to = std::min(settings.most, done + std::max<std::size_t>(10, done / 2));
        live(everyone, {at}, done, to);
        done = to;
        r = size_from_days(options, settings, all);
    }
    name_bottlenecks(r, *rooms, options, settings);
    return r;
}

std::optional<std::vector<SizeDay>> size_shard(const std::vector<SizeOption>& options,
                                               const SizeOptions& settings, std::size_t shard,
                                               std::size_t of, std::string& problem) {
    const auto rooms = open_rooms(options, settings, problem);
    if (!rooms) return std::nullopt;
    std::vector<SizeDay> days;
    for (std::size_t day = shard; day < settings.most; day += of) {
        for (std::size_t v = 0; v < settings.volumes.size(); ++v) {
            for (std::size_t o = 0; o < options.size(); ++o) {
                days.push_back(
                    {.option = static_cast<int>(o), .volume = static_cast<int>(v), .day = day});
            }
        }
    }
    live_days(*rooms, settings, days);
    return days;
}

std::string days_to_csv(std::span<const SizeDay> days) {
    std::string text =
        "option,volume,day,complete,orders,screens,late,tardiness_h,turnaround_p90_h,overtime_h,"
        "energy_kwh,cost,busiest,busiest_share\n";
    for (const auto& d : days) {
        text += fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", d.option, d.volume,
                            d.day, d.complete ? 1 : 0, d.orders, d.screens, d.late, d.tardiness_h,
                            d.turnaround_p90_h, d.overtime_h, d.energy_kwh, d.cost, d.busiest,
                            d.busiest_share);
    }
    return text;
}

std::optional<std::vector<SizeDay>> days_from_csv(const std::string& text) {
    std::vector<SizeDay> days;
    std::size_t at = text.find('\n');
    if (at == std::string::npos || text.compare(0, 18, "option,volume,day,") != 0) {
        return std::nullopt;
    }
    ++at;
    while (at < text.size()) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        double x[14];
        const char* p = text.data() + at;
        const char* const stop = text.data() + end;
        for (int k = 0; k < 14; ++k) {
            const auto [next, error] = std::from_chars(p, stop, x[k]);
            if (error != std::errc{} || (k < 13 && (next == stop || *next != ',')) ||
                (k == 13 && next != stop)) {
                return std::nullopt;
            }
            p = next + 1;
        }
        days.push_back({static_cast<int>(x[0]), static_cast<int>(x[1]),
                        static_cast<std::uint64_t>(x[2]), x[3] != 0.0, static_cast<int>(x[4]),
                        static_cast<int>(x[5]), static_cast<int>(x[6]), x[7], x[8], x[9], x[10],
                        x[11], static_cast<int>(x[12]), x[13]});
        at = end + 1;
    }
    return days;
}

}  // namespace sched::study
