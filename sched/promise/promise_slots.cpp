// What the shop promises: its level as a rank, its slots as times.

#include <algorithm>
#include <cmath>

#include "sched/promise/promise.hpp"
#include "sched/promise/promise_inside.hpp"

namespace sched::study {

namespace {

constexpr core::Seconds quarter = model::minutes(15);

bool press_is_open(const model::PromiseRule& rule, core::SimTime t) {
    if (rule.press.empty()) return true;
    // A shift of the day before may end after midnight. Its last second counts: at 17:00 the press
    // that runs until 17:00 still takes a screen.
    for (int back = 0; back <= 1; ++back) {
        const core::SimTime day = model::midnight(model::date_of(t)) - std::chrono::days{back};
        const auto weekday = static_cast<std::size_t>(model::weekday_index(model::date_of(day)));
        for (const auto& shift : rule.press) {
            if (shift.weekdays[weekday] && day + shift.from <= t && t <= day + shift.to)
                return true;
        }
    }
    return false;
}

bool is_holiday(const model::Room& room, model::LocalDate date) {
    const auto weekday = static_cast<std::size_t>(model::weekday_index(date));
    bool any = false;
    for (const model::Person& person : room.people) {
        const bool would =
            std::any_of(person.shifts.begin(), person.shifts.end(),
                        [&](const model::Shift& shift) { return shift.weekdays[weekday]; });
        if (!would) continue;
        any = true;
        if (std::find(person.absent.begin(), person.absent.end(), date) == person.absent.end())
            return false;
    }
    return any;
}

template <typename Closed>
core::SimTime next_open_slot(const model::PromiseRule& rule, core::SimTime t,
                             const Closed& closed) {
    std::vector<core::Seconds> slots = rule.slots;
    if (slots.empty()) {
        for (core::Seconds s{0}; s < model::hours(24); s += quarter)
            slots.push_back(s);
    }
    std::sort(slots.begin(), slots.end());
    core::SimTime day = model::midnight(model::date_of(t));
    for (int d = 0; d < 366; ++d, day += std::chrono::days{1}) {
        if (closed(model::date_of(day))) continue;
        for (const auto slot : slots) {
            if (day + slot >= t && press_is_open(rule, day + slot)) return day + slot;
        }
    }
    return t;  // slots that the press never takes: the reader has refused them
}

}  // namespace

Odds odds_of(std::int64_t kept, std::int64_t of) {
    if (of <= 0) return {0, 0, 0.0, {0.0, 1.0}};
    return {kept, of, static_cast<double>(kept) / static_cast<double>(of),
            wilson_interval(kept, of, 0.95)};
}

std::size_t promise_rank(std::size_t n, double level) {
    // 0.9 * 200 is 180.00000000000003 in binary: a rank must not jump for that.
    const double wanted = level * static_cast<double>(n + 1);
    const auto k = static_cast<std::size_t>(std::ceil(wanted - 1e-9));
    return k > n ? 0 : std::max<std::size_t>(k, 1);
}

core::SimTime next_slot(const model::PromiseRule& rule, core::SimTime t) {
    return next_open_slot(rule, t, [](model::LocalDate) { return false; });
}

core::SimTime next_slot(const model::Room& room, core::SimTime t) {
    return next_open_slot(room.promise, t,
                          [&](model::LocalDate date) { return is_holiday(room, date); });
}

std::string slot_words(const model::PromiseRule& rule) {
    std::string out;
    if (rule.slots.empty()) {
        out = "the next full quarter of an hour";
    } else {
        std::vector<core::Seconds> slots = rule.slots;
        std::sort(slots.begin(), slots.end());
        out = "the next of ";
        for (std::size_t i = 0; i < slots.size(); ++i) {
            if (i > 0) out += i + 1 == slots.size() ? " and " : ", ";
            out += model::format_time_of_day(core::SimTime{} + slots[i]);
        }
        if (slots.size() == 1) out = "the next " + out.substr(12);
    }
    if (!rule.press.empty()) out += " at which the press is open";
    return out;
}

namespace promising {

PromiseQuantile quantile_of(std::span<const core::SimTime> sorted, std::size_t n, double level) {
    PromiseQuantile q{.level = level, .rank = promise_rank(n, level)};
    if (q.rank > 0 && q.rank <= sorted.size()) q.ready = sorted[q.rank - 1];
    return q;
}

Odds odds_by(std::span<const core::SimTime> sorted, std::size_t n, core::SimTime time) {
    const auto kept = std::upper_bound(sorted.begin(), sorted.end(), time) - sorted.begin();
    return odds_of(kept, static_cast<std::int64_t>(n));
}

}  // namespace promising
}  // namespace sched::study
