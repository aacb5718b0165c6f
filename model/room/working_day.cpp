#include "model/room/working_day.hpp"

#include <algorithm>

namespace model {

namespace {

// Start of the day's first shift of those who are not absent; nullopt: nobody comes.
std::optional<SimTime> first_start(const Room& room, LocalDate date) {
    const auto weekday = static_cast<std::size_t>(weekday_index(date));
    std::optional<SimTime> first;
    for (const Person& p : room.people) {
        if (std::find(p.absent.begin(), p.absent.end(), date) != p.absent.end()) continue;
        for (const Shift& s : p.shifts) {
            if (!s.weekdays[weekday]) continue;
            const SimTime from = midnight(date) + s.from;
            first = first ? std::min(*first, from) : from;
        }
    }
    return first;
}

}  // namespace

bool works_on(const Room& room, LocalDate date) {
    return first_start(room, date).has_value();
}

SimTime run_begin(const Room& room, const std::vector<Order>& orders, LocalDate date) {
    const SimTime day = midnight(date);
    const LocalDate before = date_of(day - std::chrono::days{1});
    const auto weekday = static_cast<std::size_t>(weekday_index(before));
    SimTime until = day;
    for (const Person& p : room.people) {
        if (std::find(p.absent.begin(), p.absent.end(), before) != p.absent.end()) continue;
        for (const Shift& s : p.shifts) {
            if (s.weekdays[weekday]) until = std::max(until, midnight(before) + s.to);
        }
    }
    const auto first = first_start(room, date);
    if (until == day || !first) return day;
    const bool wanted = std::any_of(orders.begin(), orders.end(), [&](const Order& order) {
        return order.due > day && order.due <= *first;
    });
    return wanted ? day : *first;
}

SimTime next_working_day(const Room& room, SimTime now) {
    constexpr int most_days = 366;
    const SimTime today = midnight(date_of(now));
    for (int d = 0; d < most_days; ++d) {
        const SimTime day = today + std::chrono::days{d};
        const auto first = first_start(room, date_of(day));
        if (first && *first >= now) return day;
    }
    return today + std::chrono::days{1};
}

std::optional<SimTime> first_due_day(const std::vector<Order>& orders) {
    std::optional<SimTime> first;
    for (const Order& order : orders) {
        const SimTime day = midnight(date_of(order.due));
        first = first ? std::min(*first, day) : day;
    }
    return first;
}

}  // namespace model
