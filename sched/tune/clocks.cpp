#include "sched/tune/clocks.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace sched::tune {

using model::MarkKind;
using model::PastMark;
using model::Seconds;

namespace {

constexpr Seconds most_ahead{15 * 60};
constexpr std::size_t least_marks = 3;

bool of_work(const PastMark& m) {
    return m.mark == MarkKind::Start || m.mark == MarkKind::Done || m.mark == MarkKind::Dry ||
           m.mark == MarkKind::Remake;
}

// What its marks of one day lie ahead of their entering.
struct DayOfClock {
    std::size_t marks = 0;  // entered about when they happened
    std::vector<Seconds> ahead;
    Seconds by() {
        if (ahead.size() < least_marks || 2 * ahead.size() <= marks) return Seconds{0};
        std::sort(ahead.begin(), ahead.end());
        return ahead[ahead.size() / 2];
    }
};

}  // namespace

std::vector<PastMark> set_clocks_right(std::vector<PastMark> marks, Clocks& clocks) {
    using Key = std::pair<std::string, model::LocalDate>;
    std::map<Key, DayOfClock> days;
    for (const PastMark& m : marks) {
        if (!m.entered || !of_work(m)) continue;
        const Seconds ahead = m.at - *m.entered;
        if (ahead > Seconds{0}) ++clocks.ahead;
        // Times of the command line are said, or are those of the clock that enters.
        if (m.device.empty() || std::max(ahead, -ahead) > most_ahead) continue;
        auto& day = days[{m.device, model::date_of(m.at)}];
        ++day.marks;
        if (ahead > Seconds{0}) day.ahead.push_back(ahead);
    }
    std::map<Key, Seconds> back;
    for (auto& [key, day] : days) {
        const Seconds by = day.by();
        if (by == Seconds{0}) continue;
        back[key] = by;
        if (clocks.devices.empty() || clocks.devices.back().device != key.first)
            clocks.devices.push_back({.device = key.first});
        auto& device = clocks.devices.back();
        ++device.days;
        device.most = std::max(device.most, by);
    }
    if (back.empty()) return marks;
    for (PastMark& m : marks) {
        const auto found = back.find({m.device, model::date_of(m.at)});
        if (found != back.end()) m.at -= found->second;
    }
    std::stable_sort(marks.begin(), marks.end(),
                     [](const PastMark& a, const PastMark& b) { return a.at < b.at; });
    return marks;
}

}  // namespace sched::tune
