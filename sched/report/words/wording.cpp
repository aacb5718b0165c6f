#include "sched/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "model/base/shown.hpp"
#include "model/base/units.hpp"

namespace sched::report {

std::string when(const RunLine& run, SimTime exact) {
    const SimTime t = model::shown_minute(exact);
    static constexpr std::array<const char*, 7> days = {"Mon", "Tue", "Wed", "Thu",
                                                        "Fri", "Sat", "Sun"};
    const SimTime base = model::midnight(model::date_of(run.first_start));
    const auto away = t - base;
    const std::string clock = model::format_time_of_day(t);
    if (away >= Seconds{0} && away < model::hours(24)) return clock;
    if (away >= -model::hours(24 * 6) && away < model::hours(24 * 7)) {
        const auto day = static_cast<std::size_t>(model::weekday_index(model::date_of(t)));
        return fmt::format("{} {}", days[day], clock);
    }
    return fmt::format("{} {}", model::format_date(model::date_of(t)), clock);
}

std::int64_t lateness_minutes(const OrderLine& order) {
    if (!order.ready || !order.due)  // no instants to show: the length alone, rounded up
        return (model::shown_minute(SimTime{*order.lateness}) - SimTime{}).count() / 60;
    return model::shown_between(*order.due, *order.ready).count() / 60;
}

std::string lateness_words(const OrderLine& order) {
    if (!order.lateness) return {};
    const std::int64_t minutes = lateness_minutes(order);
    if (minutes == 0) return *order.lateness > Seconds{0} ? "under 1 min late" : "on time";
    const std::string size = model::format_duration(model::minutes(std::abs(minutes)));
    return size + (minutes > 0 ? " late" : " early");
}

std::string area_words(const model::Area& area) {
    return model::format_size(area);
}

std::string volume_words(double ml) {
    return fmt::format("{:.0f} ml", std::ceil(ml - 1e-6));
}

std::string percent(const std::optional<double>& ratio) {
    return ratio ? fmt::format("{:.0f} %", 100.0 * *ratio) : "n/a";
}

std::string chance_words(const std::optional<double>& chance) {
    const std::string words = percent(chance);
    if (chance && *chance > 0.0 && words == "0 %") return "under 1 %";
    if (chance && *chance < 1.0 && words == "100 %") return "over 99 %";
    return words;
}

std::string counted(std::size_t n, const std::string& one) {
    return fmt::format("{} {}{}", n, one, n == 1 ? "" : "s");
}

std::string tried_words(const RunLine& run) {
    if (run.evaluations <= 0) return "no other schedule tried";
    return counted(static_cast<std::size_t>(run.evaluations), "schedule") + " tried";
}

std::string joined(const std::vector<std::string>& names) {
    std::string out;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (i > 0) out += i + 1 == names.size() ? " and " : ", ";
        out += names[i];
    }
    return out;
}

bool is_to_buy(const PlanDocument& d, const MixLine& mix) {
    return mix.to_buy && !(d.again && mix.buy_by && *mix.buy_by < d.again->now);
}

std::string buy_words(const MixLine& mix) {
    if (!mix.buy_by) return "the run's start";
    std::string text = model::format_date_time(model::shown_minute(*mix.buy_by));
    std::replace(text.begin(), text.end(), 'T', ' ');
    return text;
}

std::vector<std::string> buying_list(const std::vector<MixLine>& buys, SimTime begin) {
    const auto by = [&](const MixLine& x) { return x.buy_by.value_or(begin); };
    std::vector<MixLine> days;  // what is bought of an emulsion on one day, with its volume
    for (const MixLine& mix : buys) {
        const auto same = std::find_if(days.begin(), days.end(), [&](const MixLine& x) {
            return x.emulsion == mix.emulsion && model::date_of(by(x)) == model::date_of(by(mix));
        });
        if (same == days.end()) {
            days.push_back(mix);
            continue;
        }
        same->volume_ml += mix.volume_ml;
        if (by(mix) < by(*same)) same->buy_by = mix.buy_by;
    }
    std::stable_sort(days.begin(), days.end(),
                     [&](const MixLine& a, const MixLine& b) { return by(a) < by(b); });
    std::vector<std::string> out, emulsions;
    for (const MixLine& day : days) {
        const auto known = std::find(emulsions.begin(), emulsions.end(), day.emulsion);
        if (known == emulsions.end()) {
            emulsions.push_back(day.emulsion);
            out.push_back(fmt::format("{} of {} is not in stock: buy it by {}",
                                      volume_words(day.volume_ml), day.emulsion, buy_words(day)));
        } else {
            out[static_cast<std::size_t>(known - emulsions.begin())] +=
                fmt::format(", {} more by {}", volume_words(day.volume_ml), buy_words(day));
        }
    }
    for (std::string& words : out)
        words += '.';
    return out;
}

}  // namespace sched::report
