#include "sched/study/size.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>
#include <utility>

#include "model/physics/air.hpp"
#include "sched/study/size_day.hpp"

namespace sched::study {
namespace {

/// Days of today's room that set the indifference zone; their luck is no day's of the study, so
/// that the zone does not depend on what is compared.
constexpr std::uint64_t kPilotDay = std::uint64_t{1} << 40;
constexpr std::uint64_t kPilotDays = 10;

std::size_t decision_of(const std::vector<double>& volumes) {
    std::size_t best = 0;
    for (std::size_t v = 1; v < volumes.size(); ++v) {
        if (std::abs(volumes[v] - 1.0) < std::abs(volumes[best] - 1.0)) best = v;
    }
    return best;
}

std::string joined_words(const SizeOption& option) {
    std::string words;
    for (const auto& c : option.changes)
        words += (words.empty() ? "" : "; ") + (c.words.empty() ? c.name : c.words);
    return words;
}

int kind_of_day(const std::vector<DayKind>& kinds, const engine::Draws& draws) {
    double total = 0.0;
    for (const auto& k : kinds)
        total += k.weight;
    double u = total * draws.uniform({engine::name_key("weather"), 0, 0, 0});
    for (std::size_t k = 0; k + 1 < kinds.size(); ++k) {
        if (u < kinds[k].weight) return static_cast<int>(k);
        u -= kinds[k].weight;
    }
    return static_cast<int>(kinds.size()) - 1;
}

}  // namespace

struct SizeStudy::Rooms {
    std::vector<std::unique_ptr<SizeRoom>> rooms;  // by option, then kind
    std::vector<double> volumes;
};

SizeStudy::SizeStudy() = default;
SizeStudy::~SizeStudy() = default;

std::unique_ptr<SizeStudy> SizeStudy::open(const std::vector<SizeOption>& options,
                                           const SizeOptions& settings, std::string& problem) {
    auto study = std::unique_ptr<SizeStudy>(new SizeStudy);
    study->settings_ = settings;
    study->rooms_ = std::make_unique<Rooms>();
    SizeHead& head = study->head_;
    head.kinds = settings.chance.days;
    if (head.kinds.empty()) head.kinds.push_back({"", 1.0});
    for (const auto& o : options) {
        SizeRoomHead room{.name = o.name, .words = joined_words(o)};
        for (const auto& c : o.changes) {
            const auto& f = c.figures;
            room.costs.push_back(
                {f.purchase, f.installation, f.life_years, f.left_over, f.upkeep, f.floor_area});
            room.invented = room.invented || c.invented;
        }
        for (const auto& kind : head.kinds) {
            auto opened = open_size_room(o.scenario, settings, kind.name, problem);
            if (!opened) {
                problem = o.name + ": " + problem;
                return nullptr;
            }
            study->rooms_->rooms.push_back(std::move(opened));
        }
        const SizeRoom& usual =
            *study->rooms_->rooms[study->rooms_->rooms.size() - head.kinds.size()];
        room.theory = size_theory(usual);
        for (const auto& r : usual.room.problem.resources)
            room.resources.push_back(r.name);
        head.rooms.push_back(std::move(room));
    }
    head.room = options.front().scenario.room.name;
    head.invented = options.front().scenario.room.invented;
    head.fingerprint = settings.fingerprint;
    head.volumes = settings.volumes;
    head.seed = settings.seed;
    head.most = settings.most;
    head.least = std::min<std::uint64_t>(settings.most, std::max<std::size_t>(2, settings.least));
    head.every_day = settings.every_day;
    head.confidence = settings.confidence;
    head.plan_schedules = settings.plan_schedules;
    head.plan_margin_s = settings.plan_margin.count();
    head.policy = settings.plan_schedules > 0 ? "" : settings.policy;
    head.prices = settings.prices;
    const Prices& p = settings.prices;
    head.by_money =
        p.late_order > 0.0 || p.late_hour > 0.0 || p.overtime_hour > 0.0 || p.energy > 0.0;
    head.precision = settings.precision;
    head.coping = settings.coping;
    if (settings.indifference) {
        head.indifference = *settings.indifference;
    } else {
        std::vector<SizeDay> pilot;
        for (std::uint64_t d = 0; d < kPilotDays; ++d) {
            pilot.push_back(
                {.volume = static_cast<int>(decision_of(head.volumes)), .day = kPilotDay + d});
        }
        Moments m;
        for (const auto& d : study->live(std::move(pilot))) {
            if (d.complete) m.add(head.by_money ? d.cost : d.tardiness_h);
        }
        head.indifference = std::max(head.by_money ? 1.0 : 0.1, 0.05 * m.mean());
    }
    return study;
}

/// In parallel; the order is kept, and what was not lived when the user stops is left out.
std::vector<SizeDay> SizeStudy::live(std::vector<SizeDay> days) const {
    std::atomic<std::size_t> next{0};
    std::vector<char> lived(days.size(), 0);
    const auto work = [&] {
        for (std::size_t i = next++; i < days.size(); i = next++) {
            if (settings_.stop && settings_.stop()) return;
            SizeDay& d = days[i];
            d.kind = kind_of_day(head_.kinds, engine::Draws(settings_.seed, d.day));
            const std::size_t room = static_cast<std::size_t>(d.option) * head_.kinds.size() +
                                     static_cast<std::size_t>(d.kind);
            d = live_size_day(*rooms_->rooms[room], settings_, d);
            lived[i] = 1;
        }
    };
    {
        std::vector<std::jthread> pool;
        for (int t = 1; t < settings_.threads; ++t)
            pool.emplace_back(work);
        work();
    }
    std::vector<SizeDay> out;
    for (std::size_t i = 0; i < days.size(); ++i) {
        if (lived[i] != 0) out.push_back(days[i]);
    }
    return out;
}

std::vector<SizeDay> SizeStudy::shard(std::size_t i, std::size_t n) const {
    std::vector<SizeDay> days;
    for (std::size_t day = i; day < head_.most; day += n) {
        for (std::size_t v = 0; v < head_.volumes.size(); ++v) {
            for (std::size_t o = 0; o < head_.rooms.size(); ++o) {
                days.push_back(
                    {.option = static_cast<int>(o), .volume = static_cast<int>(v), .day = day});
            }
        }
    }
    return live(std::move(days));
}

SizeResult SizeStudy::run() const {
    const auto stopped = [&] { return settings_.stop && settings_.stop(); };
    if (head_.every_day) {
        auto days = shard(0, 1);
        return size_result(head_, std::move(days), stopped());
    }
    const std::size_t at = decision_of(head_.volumes);
    std::vector<SizeDay> all;
    // Day by day, so that an interrupted batch leaves pairs behind.
    const auto live_all = [&](const std::vector<bool>& who, bool elsewhere, std::size_t from,
                              std::size_t to) {
        std::vector<SizeDay> batch;
        for (std::size_t day = from; day < to; ++day) {
            for (std::size_t v = 0; v < head_.volumes.size(); ++v) {
                if ((v != at) != elsewhere) continue;
                for (std::size_t o = 0; o < who.size(); ++o) {
                    if (who[o]) {
                        batch.push_back({.option = static_cast<int>(o),
                                         .volume = static_cast<int>(v),
                                         .day = day});
                    }
                }
            }
        }
        const auto lived = live(std::move(batch));
        all.insert(all.end(), lived.begin(), lived.end());
    };
    const auto say = [&](const SizeResult& r, std::size_t done) {
        if (!settings_.progress) return;
        const auto in = std::count(r.ranking.in.begin(), r.ranking.in.end(), true);
        std::vector<std::pair<double, std::size_t>> order;
        for (std::size_t o = 0; o < r.ranking.mean.size(); ++o) {
            if (r.ranking.in[o]) order.emplace_back(r.ranking.mean[o], o);
        }
        std::sort(order.begin(), order.end());
        std::string names;
        for (std::size_t k = 0; k < std::min<std::size_t>(3, order.size()); ++k) {
            names += (k == 0 ? "" : ", ") +
                     fmt::format("{} {:.1f}", head_.rooms[order[k].second].name, order[k].first);
        }
        settings_.progress(fmt::format("{} days; {} of {} rooms in; {} a day: {}", done, in,
                                       head_.rooms.size(), head_.by_money ? "cost" : "hours late",
                                       names));
    };
    std::vector<bool> who(head_.rooms.size(), true);
    std::size_t done = head_.least;
    live_all(who, false, 0, done);
    SizeResult r = size_result(head_, all, stopped());
    while (true) {
        say(r, done);
        if ((r.ranking.decided && r.precise) || done >= head_.most || stopped()) break;
        // Today's goes on: all differences are to it. A room that is out keeps what it has.
        who = r.ranking.in;
        who.front() = true;
        who[static_cast<std::size_t>(std::max(0, r.ranking.best))] = true;
        const std::size_t to =
            std::min<std::size_t>(head_.most, done + std::max<std::size_t>(10, done / 4));
        live_all(who, false, done, to);
        done = to;
        r = size_result(head_, all, stopped());
    }
    live_all(std::vector<bool>(head_.rooms.size(), true), true, 0, head_.least);
    return size_result(head_, std::move(all), stopped());
}

std::vector<DayKind> climate_kinds(const model::Scenario& scenario, int least_days) {
    using model::physics::humidity_ratio;
    std::vector<DayKind> kinds;
    const auto& rows = scenario.weather;
    if (!scenario.room.climate || scenario.room.climate->named_days.empty() || rows.size() < 2 ||
        rows.back().from - rows.front().from < model::hours(24) * least_days) {
        return kinds;
    }
    const auto& climate = *scenario.room.climate;
    std::vector<double> wet;
    for (const auto& [name, air] : climate.named_days) {
        kinds.push_back({name, 0.0});
        wet.push_back(humidity_ratio(air.temperature, air.humidity, climate.pressure));
    }
    for (std::size_t i = 0; i < rows.size(); ++i) {
        // The last row holds as long as the one before it.
        const auto held =
            i + 1 < rows.size() ? rows[i + 1].from - rows[i].from : rows[i].from - rows[i - 1].from;
        const double w =
            humidity_ratio(rows[i].air.temperature, rows[i].air.humidity, climate.pressure);
        std::size_t nearest = 0;
        for (std::size_t k = 1; k < wet.size(); ++k) {
            if (std::abs(wet[k] - w) < std::abs(wet[nearest] - w)) nearest = k;
        }
        kinds[nearest].weight += static_cast<double>(held.count());
    }
    double total = 0.0;
    for (const auto& k : kinds)
        total += k.weight;
    for (auto& k : kinds)
        k.weight /= total;
    std::erase_if(kinds, [](const DayKind& k) { return k.weight <= 0.0; });
    return kinds;
}

std::string days_to_csv(const SizeHead& head, std::span<const SizeDay> days) {
    const auto quoted = [](const std::string& text) {
        std::string out = "\"";
        for (const char c : text)
            out += c == '"' ? std::string("\"\"") : std::string(1, c);
        return out + "\"";
    };
    std::string text =
        "room,volume_percent,day,kind,complete,orders,screens,same_day_screens,late,tardiness_h,"
        "turnaround_p90_h,flow_h,overtime_h,energy_kwh,cost,busiest,busiest_share,next,"
        "next_share\n";
    for (const auto& d : days) {
        const auto& room = head.rooms[static_cast<std::size_t>(d.option)];
        const auto name = [&](int r) {
            return r < 0 ? std::string{} : quoted(room.resources[static_cast<std::size_t>(r)]);
        };
        text +=
            fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n",
                        quoted(room.name), 100.0 * head.volumes[static_cast<std::size_t>(d.volume)],
                        d.day, quoted(head.kinds[static_cast<std::size_t>(d.kind)].name),
                        d.complete ? 1 : 0, d.orders, d.screens, d.same_day, d.late, d.tardiness_h,
                        d.turnaround_p90_h, d.flow_h, d.overtime_h, d.energy_kwh, d.cost,
                        name(d.busiest), d.busiest_share, name(d.next), d.next_share);
    }
    return text;
}

}  // namespace sched::study
