#include "sched/core/calendar.hpp"

#include <algorithm>

namespace sched::core {

bool meet(const Window& a, const Window& b) {
    return a.from < b.to && b.from < a.to;
}

Seconds overlap(SimTime from, SimTime to, const std::vector<Window>& windows) {
    Seconds sum{0};
    for (const Window& w : windows)
        sum += overlap(from, to, w);
    return sum;
}

void open_window(Calendar& calendar, Window window) {
    if (window.from >= window.to) return;
    const auto first = std::partition_point(calendar.begin(), calendar.end(),
                                            [&](const Window& w) { return w.to < window.from; });
    auto last = first;
    for (; last != calendar.end() && last->from <= window.to; ++last) {
        window.from = std::min(window.from, last->from);
        window.to = std::max(window.to, last->to);
    }
    calendar.insert(calendar.erase(first, last), window);
}

void close_window(Calendar& calendar, Window hole) {
    if (hole.from >= hole.to) return;
    const auto first = std::partition_point(calendar.begin(), calendar.end(),
                                            [&](const Window& w) { return w.to <= hole.from; });
    Calendar rest;
    auto last = first;
    for (; last != calendar.end() && last->from < hole.to; ++last) {
        if (last->from < hole.from) rest.push_back({last->from, hole.from});
        if (hole.to < last->to) rest.push_back({hole.to, last->to});
    }
    const auto at = calendar.erase(first, last);
    calendar.insert(at, rest.begin(), rest.end());
}

Calendar common(const Calendar& a, const Calendar& b) {
    Calendar out;
    for (std::size_t i = 0, k = 0; i < a.size() && k < b.size();) {
        const Window w{std::max(a[i].from, b[k].from), std::min(a[i].to, b[k].to)};
        if (w.from < w.to) out.push_back(w);
        if (a[i].to < b[k].to)
            ++i;
        else
            ++k;
    }
    return out;
}

}  // namespace sched::core
