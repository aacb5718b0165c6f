#include "sched/app/parts/day_change.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace sched::app {

namespace {

using journal::Mark;

constexpr model::Seconds longer_by{3600};
constexpr model::Seconds one_shift{12 * 3600};  // a shift may end after midnight
constexpr int highest_priority = 9;

template <class Named>
Named* with_name(std::vector<Named>& list, const std::string& name) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const Named& x) { return x.name == name; });
    return found == list.end() ? nullptr : &*found;
}

}  // namespace

void put_changes(const std::vector<journal::Entry>& entries, model::SimTime from,
                 model::SimTime now, model::Scenario& scenario, std::int64_t last) {
    // Numbers of further orders count what was taken back, too: a name is never given twice.
    std::map<std::int64_t, std::string> name_of;
    std::map<std::string, int> numbers;
    for (const auto& e : entries) {
        if (e.mark == Mark::Another)
            name_of[e.id] = fmt::format("{}-more{}", e.what, ++numbers[e.what]);
    }
    for (const auto& e : journal::in_force(entries)) {
        if (e.time < from || e.time > now || e.id > last) continue;
        if (e.mark == Mark::Longer && now - e.time < one_shift) {
            if (auto* person = with_name(scenario.room.people, e.what))
                person->overtime += longer_by;
        }
        auto* order = with_name(scenario.orders, e.what);
        if (order == nullptr) continue;
        if (e.mark == Mark::First) order->priority = highest_priority;
        if (e.mark != Mark::Another || with_name(scenario.orders, name_of[e.id])) continue;
        model::Order more = *order;
        more.name = name_of[e.id];
        for (auto& line : more.lines)
            line.film_ready.reset();
        scenario.orders.push_back(std::move(more));
    }
}

bool can_be_tried(Mark mark) {
    return mark == Mark::Down || mark == Mark::Absent || mark == Mark::Longer ||
           mark == Mark::First || mark == Mark::Another;
}

std::string words_of_change(Mark mark, const std::string& what) {
    switch (mark) {
        case Mark::Down:
            return what + " is out of work from now on";
        case Mark::Absent:
            return what + " is not here from now on";
        case Mark::Longer:
            return what + " stays an hour longer";
        case Mark::First:
            return what + " goes first";
        case Mark::Another:
            return "one more order like " + what;
        default:
            return "";
    }
}

}  // namespace sched::app
