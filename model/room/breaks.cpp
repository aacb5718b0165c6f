// Each stretch of attendance is a single machine with the breaks as jobs that have release and due
// times: orders of them are tried, the one by their usual times first, and the order that leaves
// the breaks nearest to these is kept. Where no order holds all, as many are kept as can be had; of
// as many, those that stand first in the file. The others are missed.

#include "model/room/breaks.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>

namespace model {

namespace {

using Stretch = std::pair<SimTime, SimTime>;

constexpr std::size_t most_permuted = 6;  // 720 orders; above: by usual and by latest time alone
constexpr std::size_t most_in_sets = 8;   // 255 sets

struct Wish {
    std::size_t pause;
    SimTime day;
    SimTime earliest;
    SimTime latest;
    SimTime usual;
    Seconds length;
    SimTime at{};
};

// Puts the breaks in this order, each as near to its usual time as the others let it.
// @returns how far they lie from it together; nullopt: the order does not hold them.
std::optional<Seconds> put_in_order(std::vector<Wish>& wishes,
                                    const std::vector<std::size_t>& order) {
    std::vector<SimTime> last(order.size());
    SimTime until = SimTime::max();
    for (std::size_t i = order.size(); i-- > 0;) {
        const Wish& w = wishes[order[i]];
        last[i] = std::min(w.latest, until - w.length);
        until = last[i];
        if (last[i] < w.earliest) return std::nullopt;
    }
    Seconds away{0};
    SimTime free = SimTime::min();
    for (std::size_t i = 0; i < order.size(); ++i) {
        Wish& w = wishes[order[i]];
        const SimTime first = std::max(w.earliest, free);
        if (first > last[i]) return std::nullopt;
        w.at = std::clamp(w.usual, first, last[i]);
        away += std::chrono::abs(w.at - w.usual);
        free = w.at + w.length;
    }
    return away;
}

// Puts all of them somewhere, if they can be.
bool put(std::vector<Wish>& wishes) {
    std::vector<std::size_t> order(wishes.size());
    for (std::size_t i = 0; i < order.size(); ++i)
        order[i] = i;
    const auto by = [&](auto key) {
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return key(wishes[a]) < key(wishes[b]);
        });
    };
    std::optional<Seconds> best;
    std::vector<Wish> kept;
    const auto attempt = [&] {
        const auto away = put_in_order(wishes, order);
        if (!away || (best && *best <= *away)) return;
        best = away;
        kept = wishes;
    };
    by([](const Wish& w) { return w.usual; });
    attempt();
    if (!best || *best > Seconds{0}) {
        by([](const Wish& w) { return w.latest + w.length; });
        attempt();
        if (wishes.size() <= most_permuted) {
            std::sort(order.begin(), order.end());
            do {
                attempt();
            } while (std::next_permutation(order.begin(), order.end()));
        }
    }
    if (best) wishes = std::move(kept);
    return best.has_value();
}

// As many as can be had, of as many those that stand first; of very many breaks, one after the
// other.
std::vector<Wish> most_of(const std::vector<Wish>& wishes) {
    std::vector<Wish> best;
    if (wishes.size() > most_in_sets) {
        for (const Wish& wish : wishes) {
            std::vector<Wish> more = best;
            more.push_back(wish);
            if (put(more)) best = std::move(more);
        }
        return best;
    }
    // Counted down with the first break as the highest bit, sets of first breaks come first.
    for (std::uint32_t set = (1U << wishes.size()) - 1; set > 0; --set) {
        if (static_cast<std::size_t>(std::popcount(set)) <= best.size()) continue;
        std::vector<Wish> some;
        for (std::size_t i = 0; i < wishes.size(); ++i) {
            if ((set >> (wishes.size() - 1 - i) & 1U) != 0) some.push_back(wishes[i]);
        }
        if (put(some)) best = std::move(some);
    }
    return best;
}

// The break that is in the way of `late`: the first with which alone it cannot be had, else the
// last one that was put.
std::size_t blocker_of(const std::vector<Wish>& had, const Wish& late) {
    for (const Wish& w : had) {
        std::vector<Wish> two{w, late};
        if (!put(two)) return w.pause;
    }
    return had.back().pause;
}

}  // namespace

std::vector<Stretch> attendance(const Person& person, SimTime first, SimTime end) {
    std::vector<Stretch> spans;
    for (SimTime day = first; day < end; day += std::chrono::days{1}) {
        const LocalDate date = date_of(day);
        if (std::find(person.absent.begin(), person.absent.end(), date) != person.absent.end())
            continue;
        for (const Shift& shift : person.shifts) {
            if (shift.weekdays[static_cast<std::size_t>(weekday_index(date))])
                spans.emplace_back(day + shift.from, day + shift.to);
        }
    }
    std::sort(spans.begin(), spans.end());
    std::vector<Stretch> out;
    for (const Stretch& s : spans) {
        if (!out.empty() && s.first <= out.back().second)
            out.back().second = std::max(out.back().second, s.second);
        else
            out.push_back(s);
    }
    return out;
}

BreakPlan place_breaks(const Person& person, SimTime first, SimTime end, Stagger stagger) {
    const auto stretches = attendance(person, first, end);
    std::vector<std::vector<Wish>> wishes(stretches.size());
    BreakPlan out;
    // A night shift that begins on the last date has its breaks on the next one.
    for (SimTime day = first; day <= end; day += std::chrono::days{1}) {
        for (std::size_t b = 0; b < person.breaks.size(); ++b) {
            const Break& pause = person.breaks[b];
            const SimTime from = day + pause.earliest;
            const SimTime to = day + pause.latest + pause.length;
            const auto part = stagger.n > 1 ? (pause.latest - pause.earliest).count() *
                                                  static_cast<std::int64_t>(stagger.k) /
                                                  static_cast<std::int64_t>(stagger.n - 1)
                                            : 0;
            bool fits = false;
            std::optional<Stretch> touched;
            auto s = std::partition_point(stretches.begin(), stretches.end(),
                                          [&](const Stretch& x) { return x.second <= from; });
            for (; s != stretches.end() && s->first < to && !fits; ++s) {
                const SimTime earliest = std::max(from, s->first);
                const SimTime latest = std::min(day + pause.latest, s->second - pause.length);
                if (!touched) touched = *s;
                if (earliest > latest) continue;
                fits = true;
                wishes[static_cast<std::size_t>(s - stretches.begin())].push_back(
                    {.pause = b,
                     .day = day,
                     .earliest = earliest,
                     .latest = latest,
                     .usual = std::clamp(from + Seconds{part / 60 * 60}, earliest, latest),
                     .length = pause.length});
            }
            if (!fits && touched)
                out.missed.push_back({b, day, touched->first, touched->second, std::nullopt});
        }
    }
    for (std::size_t s = 0; s < stretches.size(); ++s) {
        std::vector<Wish> had = wishes[s];
        if (!put(had)) {
            had = most_of(wishes[s]);
            for (const Wish& wish : wishes[s]) {
                const bool is_had = std::any_of(had.begin(), had.end(), [&](const Wish& w) {
                    return w.pause == wish.pause && w.day == wish.day;
                });
                if (!is_had)
                    out.missed.push_back({wish.pause, wish.day, stretches[s].first,
                                          stretches[s].second, blocker_of(had, wish)});
            }
        }
        std::sort(had.begin(), had.end(), [](const Wish& a, const Wish& b) { return a.at < b.at; });
        for (const Wish& w : had)
            out.placed.push_back({w.pause, w.earliest, w.latest, w.length, w.at});
    }
    return out;
}

}  // namespace model
