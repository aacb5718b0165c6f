#pragma once
// Half-open windows of time and what is done with them: whether and how long they meet, opening
// and closing time of a calendar. The one place for it in the planner (the checker has its own).

#include <algorithm>

#include "sched/core/problem.hpp"

namespace sched::core {

bool meet(const Window& a, const Window& b);

/// Time that [a, b) and [from, to) have in common, 0 if none; either may be empty.
template <class T>
constexpr auto overlap(T a, T b, T from, T to) {
    using Length = decltype(b - a);
    return std::max(Length{}, std::min(b, to) - std::max(a, from));
}
inline Seconds overlap(SimTime from, SimTime to, const Window& window) {
    return overlap(from, to, window.from, window.to);
}
/// The same with all windows of a list that are apart from each other.
Seconds overlap(SimTime from, SimTime to, const std::vector<Window>& windows);

/// Opens [from, to) of a calendar; windows that touch become one. An empty window opens nothing.
void open_window(Calendar& calendar, Window window);

/// Closes [from, to).
void close_window(Calendar& calendar, Window hole);

/// What is open in both.
Calendar common(const Calendar& a, const Calendar& b);

}  // namespace sched::core
