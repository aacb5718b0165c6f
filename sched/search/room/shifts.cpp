// How it works: the base is the starts of a schedule, the shifts are drawn around it and moved by
// what they led to (search/base/evolution.hpp). Only which of two is better counts there, so the
// whole value decides, later criteria where earlier ones are equal.

#include "sched/search/room/shifts.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::search {

namespace {

using Value = std::vector<std::int64_t>;

// Tried on the three demo days due an hour sooner, four seeds each.
constexpr double first_step = 1200.0, last_step = 30.0;  // standard deviation of the shifts, s
constexpr int patience = 60;                             // generations without anything better
constexpr std::size_t most_kinds = 12;
constexpr std::size_t directions_a_population = 16;

// Of each, how many others are better. Those without a schedule are last.
std::vector<double> places(const std::vector<Value>& values) {
    std::vector<double> place(values.size(), 0.0);
    for (std::size_t i = 0; i < values.size(); ++i) {
        for (const Value& other : values) {
            const bool better = values[i].empty() || (!other.empty() && other < values[i]);
            if (better) place[i] += 1.0;
        }
    }
    return place;
}

}  // namespace

Shifts::Shifts(const engine::CompiledProblem& problem, const RoomUnits& units)
    : problem_(problem),
      units_(units),
      orders_(units.of_order.size()),
      kind_(problem.blocks.size(), 0) {
    for (const auto& blocks : units.blocks) {
        for (std::size_t k = 0; k < blocks.size(); ++k)
            kind_[ix(blocks[k])] = std::min(most_kinds, blocks.size() - k) - 1;
        kinds_ = std::max(kinds_, std::min(most_kinds, blocks.size()));
    }
}

std::size_t Shifts::population() const {
    return std::max<std::size_t>(1, (orders_ + kinds_ + 4) / directions_a_population);
}

void Shifts::shift(const std::vector<double>& base, const std::vector<double>& by,
                   RoomPoint& point) const {
    // What belongs to no order (mixing) is as urgent as the most urgent order.
    const double first =
        *std::min_element(by.begin(), by.begin() + static_cast<std::ptrdiff_t>(orders_));
    for (std::size_t b = 0; b < base.size(); ++b) {
        const std::int32_t order = units_.order[ix(units_.unit_of[b])];
        point.key[b] =
            base[b] + by[orders_ + kind_[b]] + (order >= 0 ? by[ix(order)] : std::min(0.0, first));
    }
}

void Shifts::run(const RoomPoint& from, const engine::FlatSchedule& schedule,
                 std::size_t population, Rng rng, const Decode& decode,
                 const std::function<bool()>& over) const {
    RoomPoint plain = from;
    plain.genes.delay.clear();
    plain.genes.after.clear();
    plain.after.clear();
    std::vector<double> base(problem_.blocks.size());
    for (std::size_t b = 0; b < base.size(); ++b)
        base[b] =
            static_cast<double>(schedule.start[ix(problem_.ops_of(problem_.blocks[b]).front())]);
    Evolution evolution(orders_ + kinds_, first_step, rng, population);
    Value best;
    for (int still = 0; still < patience && evolution.step() > last_step; ++still) {
        std::vector<Value> values;
        for (const auto& by : evolution.ask()) {
            if (over()) return;
            RoomPoint point = plain;
            shift(base, by, point);
            Value value;
            if (!decode(point, value)) value.clear();
            if (!value.empty() && (best.empty() || value < best)) {
                best = value;
                still = -1;
            }
            values.push_back(std::move(value));
        }
        evolution.tell(places(values));
    }
}

}  // namespace sched::search
