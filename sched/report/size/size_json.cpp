// How it works: results become objects member by member; shards are the head and the days as
// plain rows (size_fields.hpp), checked on reading and joined only if their heads agree.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/report/document/json_fields.hpp"
#include "sched/report/size/size_fields.hpp"
#include "sched/report/size/size_report.hpp"

namespace sched::report {
namespace {

using study::SizeResult;

Json interval_json(const study::Interval& i) {
    return {{"low", i.low}, {"high", i.high}};
}

/// Mean with its interval and the paired difference to today; what one day cannot give is left out.
Json figure_json(const study::SizeFigure& f, bool today) {
    Json out = Json::object();
    if (f.mean.n == 0) return out;
    out["mean"] = f.mean.mean;
    if (f.mean.n >= 2) out["interval"] = interval_json(f.mean.interval());
    if (!today && std::isfinite(f.to_today.interval.low) && f.to_today.df > 0.0) {
        out["to_today"] = f.to_today.difference;
        out["to_today_interval"] = interval_json(f.to_today.interval);
    }
    return out;
}

Json cell_json(const SizeResult& r, const study::SizeCell& c) {
    Json out = Json::object();
    const bool today = c.option == 0;
    out["room"] = r.head.rooms[static_cast<std::size_t>(c.option)].name;
    out["volume"] = r.head.volumes[static_cast<std::size_t>(c.volume)];
    out["days"] = c.days;
    out["incomplete_days"] = c.incomplete;
    out["on_time"] = c.on_time;
    out["on_time_interval"] = interval_json(c.on_time_interval);
    out["today_on_time"] = c.today_on_time;
    out["curve_on_time"] = c.curve;
    out["curve_interval"] = interval_json(c.curve_interval);
    out["late_orders"] = figure_json(c.late, today);
    out["tardiness_h"] = figure_json(c.tardiness_h, today);
    out["turnaround_p90_h"] = figure_json(c.turnaround_p90_h, today);
    out["screens"] = figure_json(c.screens, today);
    out["overtime_h"] = figure_json(c.overtime_h, today);
    out["energy_kwh"] = figure_json(c.energy_kwh, today);
    out["cost"] = figure_json(c.cost, today);
    out["limit"] = c.bottleneck;
    out["limit_share"] = c.busiest;
    out["next_limit"] = c.next;
    out["next_limit_share"] = c.next_busiest;
    return out;
}

Json money_json(const SizeResult& r, std::size_t o) {
    const study::MoneyCase& m = r.money[o];
    Json out = Json::object();
    out["room"] = r.head.rooms[o].name;
    out["investment"] = m.investment;
    out["yearly_benefit"] = m.yearly_benefit;
    out["yearly_interval"] = interval_json(m.yearly_interval);
    out["yearly_net"] = m.yearly_net;
    out["net_interval"] = interval_json(m.net_interval);
    out["net_present_value"] = m.net_present_value;
    out["value_interval"] = interval_json(m.value_interval);
    if (m.payback) out["payback_years"] = *m.payback;
    if (m.payback_discounted) out["payback_discounted_years"] = *m.payback_discounted;
    if (m.rate) out["internal_rate"] = *m.rate;
    out["needed_saving_a_day"] = m.needed_saving_a_day;
    out["years"] = m.years;
    out["purchases_value"] = m.purchases_value;
    const auto& even = r.break_even[o];
    if (even.at) out["break_even_volume"] = *even.at;
    if (even.low) out["break_even_low"] = *even.low;
    if (even.high) out["break_even_high"] = *even.high;
    out["words"] = r.money_sentences[o];
    return out;
}

Json copes_json(const SizeResult& r, std::size_t o) {
    const auto& c = r.copes[o];
    Json out = Json::object();
    out["room"] = r.head.rooms[o].name;
    if (c.to) out["to_volume"] = *c.to;
    if (c.low) out["low"] = *c.low;
    if (c.high) out["high"] = *c.high;
    out["beyond"] = c.beyond;
    return out;
}

std::string end_word(study::SizeEnd end) {
    switch (end) {
        case study::SizeEnd::Clear:
            return "clear";
        case study::SizeEnd::Days:
            return "days-used";
        case study::SizeEnd::Interrupted:
            return "interrupted";
    }
    return {};
}

void refuse(model::Diagnostics& d, const std::string& file, const std::string& code,
            const std::string& what, const std::string& hint) {
    d.error({.file = file, .line = 1, .column = 1}, code, what, hint);
}

/// Indices of a day lie within what the head names.
bool fits(const study::SizeHead& head, const study::SizeDay& d) {
    const auto below = [](int i, std::size_t n) {
        return i >= 0 && static_cast<std::size_t>(i) < n;
    };
    if (!below(d.option, head.rooms.size()) || !below(d.volume, head.volumes.size()) ||
        !below(d.kind, head.kinds.size()) || d.day >= head.most || d.past < -1 ||
        d.past >= static_cast<std::int64_t>(head.past_days)) {
        return false;
    }
    const auto& names = head.rooms[static_cast<std::size_t>(d.option)].resources;
    return (d.busiest == -1 || below(d.busiest, names.size())) &&
           (d.next == -1 || below(d.next, names.size()));
}

bool sound(const study::SizeHead& h) {
    const auto ascending =
        std::adjacent_find(h.volumes.begin(), h.volumes.end(),
                           [](double a, double b) { return !(a < b); }) == h.volumes.end();
    const std::string& currency = h.prices.currency;  // stands in pages as it is
    const bool code =
        currency.empty() ||
        (currency.size() == 3 && std::all_of(currency.begin(), currency.end(),
                                             [](char c) { return c >= 'A' && c <= 'Z'; }));
    const auto lives = std::all_of(h.rooms.begin(), h.rooms.end(), [](const auto& r) {
        return std::all_of(r.costs.begin(), r.costs.end(),
                           [](const auto& c) { return c.life >= 1.0 && c.life <= 100.0; });
    });
    return code && !h.rooms.empty() && !h.volumes.empty() && !h.kinds.empty() && ascending &&
           lives && h.confidence > 0.0 && h.confidence < 1.0 && h.indifference > 0.0 &&
           h.least >= 2 && h.most >= h.least && h.prices.interest > -1.0 &&
           h.prices.inflation > -1.0 && h.prices.days_a_year > 0.0;
}

}  // namespace

std::string size_to_json(const SizeResult& r, std::string_view program) {
    Json out = Json::object();
    out["format"] = size_format;
    out["program"] = program;
    out["study"] = FieldWriter::json(r.head);
    out["conclusion"] = r.conclusion;
    out["end"] = end_word(r.end);
    out["precise"] = r.precise;
    out["volumes_simulated"] = r.volumes_simulated;
    out["coping"] = r.coping;
    out["decision_volume"] = r.head.volumes[r.decision];
    Json rooms = Json::array();
    for (std::size_t o = 0; o < r.head.rooms.size(); ++o) {
        Json room = Json::object();
        room["room"] = r.head.rooms[o].name;
        room["in"] = r.ranking.in.empty() || r.ranking.in[o];
        room["days"] = r.ranking.replications[o];
        room["mean"] = r.ranking.mean[o];
        rooms.push_back(std::move(room));
    }
    out["ranking"] = {
        {"best", r.ranking.best < 0 ? std::string{}
                                    : r.head.rooms[static_cast<std::size_t>(r.ranking.best)].name},
        {"decided", r.ranking.decided},
        {"rooms", std::move(rooms)}};
    Json cells = Json::array();
    for (const auto& c : r.cells)
        cells.push_back(cell_json(r, c));
    out["figures"] = std::move(cells);
    Json kinds = Json::array();
    for (const auto& k : r.kinds) {
        kinds.push_back({{"room", r.head.rooms[static_cast<std::size_t>(k.option)].name},
                         {"kind", r.head.kinds[static_cast<std::size_t>(k.kind)].name},
                         {"days", k.days},
                         {"on_time", k.on_time},
                         {"today_on_time", k.today_on_time},
                         {"limit", k.bottleneck},
                         {"limit_share", k.busiest},
                         {"next_limit", k.next},
                         {"next_limit_share", k.next_busiest},
                         {"tardiness_h", figure_json(k.tardiness_h, k.option == 0)}});
    }
    out["kinds"] = std::move(kinds);
    Json money = Json::array();
    Json copes = Json::array();
    Json disagree = Json::array();
    for (std::size_t o = 0; o < r.head.rooms.size(); ++o) {
        if (o > 0 && r.head.by_money) money.push_back(money_json(r, o));
        if (r.volumes_simulated) copes.push_back(copes_json(r, o));
        for (const auto& words : r.disagree[o])
            disagree.push_back({{"room", r.head.rooms[o].name}, {"words", words}});
    }
    out["money"] = std::move(money);
    out["copes"] = std::move(copes);
    out["theory_disagrees"] = std::move(disagree);
    out["cautions"] = size_cautions();
    return lines_of(out);
}

std::string shard_to_json(const SizeShard& shard) {
    Json out = Json::object();
    out["shard_format"] = size_format;
    out["shard"] = shard.shard;
    out["of"] = shard.of;
    out["study"] = FieldWriter::json(shard.head);
    out["days"] = FieldWriter::json(shard.days);
    return lines_of(out);
}

std::optional<SizeShard> shard_from_json(std::string_view json, model::Diagnostics& diagnostics,
                                         std::string_view file) {
    JsonReader reader(diagnostics, file);
    const auto parsed = reader.parse(json);
    if (!parsed || !reader.object(&*parsed, "the document")) return std::nullopt;
    const auto format =
        reader.integer(reader.member(*parsed, "shard_format", ""), 1, INT32_MAX, "shard_format");
    if (reader.ok() && format > size_format) {
        reader.fail("shard_format", "is newer than this program reads");
    }
    if (!reader.ok()) return std::nullopt;
    SizeShard shard;
    FieldReader read(reader, *parsed, "");
    read("shard", shard.shard);
    read("of", shard.of);
    read("study", shard.head);
    read("days", shard.days);
    if (reader.ok() && !sound(shard.head)) reader.fail("study", "is not the head of a study");
    if (reader.ok() && (shard.of < 1 || shard.shard < 0 || shard.shard >= shard.of)) {
        reader.fail("shard", "must be below `of`");
    }
    for (std::size_t i = 0; i < shard.days.size() && reader.ok(); ++i) {
        if (!fits(shard.head, shard.days[i])) {
            reader.fail(fmt::format("days[{}]", i), "names something that the study does not have");
        }
    }
    if (!reader.ok()) return std::nullopt;
    return shard;
}

std::optional<SizeResult> merge_shards(std::vector<SizeShard> shards,
                                       const std::vector<std::string>& files,
                                       model::Diagnostics& diagnostics) {
    if (shards.empty()) return std::nullopt;
    const auto file = [&](std::size_t i) { return i < files.size() ? files[i] : std::string{}; };
    std::vector<int> seen(static_cast<std::size_t>(std::max(1, shards.front().of)), -1);
    std::vector<study::SizeDay> days;
    for (std::size_t i = 0; i < shards.size(); ++i) {
        SizeShard& s = shards[i];
        if (s.of != shards.front().of || !(s.head == shards.front().head)) {
            refuse(diagnostics, file(i), "shard-of-other",
                   "this is a shard of another study than " + file(0) + ".",
                   "Make all shards with the same input and options.");
            continue;
        }
        int& by = seen[static_cast<std::size_t>(s.shard)];
        if (by >= 0) {
            refuse(diagnostics, file(i), "shard-twice",
                   fmt::format("shard {}/{} is also {}.", s.shard + 1, s.of,
                               file(static_cast<std::size_t>(by))),
                   "Give each shard once.");
            continue;
        }
        by = static_cast<int>(i);
        days.insert(days.end(), s.days.begin(), s.days.end());
    }
    for (std::size_t k = 0; k < seen.size(); ++k) {
        if (seen[k] < 0) {
            refuse(diagnostics, file(0), "shard-missing",
                   fmt::format("shard {}/{} is missing.", k + 1, seen.size()),
                   fmt::format("Run it with --shard {}/{} and give its file too.", k + 1,
                               seen.size()));
        }
    }
    if (diagnostics.has_errors()) return std::nullopt;
    const study::SizeHead& head = shards.front().head;
    const std::size_t wanted = head.most * head.rooms.size() * head.volumes.size();
    if (days.size() != wanted) {
        refuse(diagnostics, file(0), "shard-short",
               fmt::format("the shards hold {} days, the study asks for {}.", days.size(), wanted),
               "One of them was interrupted; run it again.");
        return std::nullopt;
    }
    return study::size_result(head, std::move(days));
}

}  // namespace sched::report
