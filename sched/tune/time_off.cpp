#include "sched/tune/time_off.hpp"

#include <algorithm>

namespace sched::tune {

using model::SimTime;

namespace {

double seconds_of(model::Seconds s) {
    return static_cast<double>(s.count());
}

}  // namespace

TimeOff::TimeOff(const model::Room& room, SimTime first, SimTime end) {
    std::vector<std::pair<SimTime, SimTime>> all;
    for (const model::Person& person : room.people) {
        Days days;
        days.there = model::attendance(person, first, end);
        days.breaks = model::place_breaks(person, first, end).placed;
        all.insert(all.end(), days.there.begin(), days.there.end());
        people_.emplace(person.name, std::move(days));
    }
    std::sort(all.begin(), all.end());
    for (const auto& w : all) {
        if (!anybody_.there.empty() && w.first <= anybody_.there.back().second)
            anybody_.there.back().second = std::max(anybody_.there.back().second, w.second);
        else
            anybody_.there.push_back(w);
    }
}

Off TimeOff::between(const std::string& person, SimTime from, SimTime to) const {
    const auto found = people_.find(person);
    const Days& days = found == people_.end() ? anybody_ : found->second;
    Off off;
    // Gaps between attendances that lie within.
    auto next = std::upper_bound(
        days.there.begin(), days.there.end(), from,
        [](SimTime t, const std::pair<SimTime, SimTime>& w) { return t < w.second; });
    for (; next != days.there.end() && next + 1 != days.there.end(); ++next) {
        const SimTime gone = next->second, back = (next + 1)->first;
        if (back > to) break;
        off.least += seconds_of(back - std::max(gone, from));
    }
    off.most = off.least;
    const auto begin =
        std::lower_bound(days.breaks.begin(), days.breaks.end(), from - std::chrono::hours{24},
                         [](const model::PlacedBreak& b, SimTime t) { return b.latest < t; });
    for (auto b = begin; b != days.breaks.end() && b->earliest < to + std::chrono::hours{24}; ++b) {
        const SimTime low = std::max(from, b->earliest);
        const SimTime high = std::min(to, b->latest + b->length);
        if (high - low < b->length) continue;  // it does not fit in between
        off.most += seconds_of(b->length);
        const bool before = b->earliest + b->length <= from;
        const bool after = b->latest >= to;
        if (!before && !after && b->earliest >= from && b->latest + b->length <= to)
            off.least += seconds_of(b->length);
    }
    return off;
}

}  // namespace sched::tune
