// How it works. Members are decoded schedules. A child is a key per operation, about when it ends:
// the father's for what ends in the stretch taken from him, the mother's for the rest, some
// blurred. The backward pass turns the keys into starts as late as can be, and the decoder takes
// the operations in the order of these. In a makespan everything may end with the last; where
// orders are due, each as late as it was in the mother, or as it is due.

#include "sched/search/room/breeder.hpp"

#include <algorithm>
#include <numeric>

#include "sched/core/index.hpp"

namespace sched::search {

namespace {

using engine::never;
using engine::Tick;

constexpr double kAlone = 0.3;      // share of children with one parent ...
constexpr double kShuffled = 0.1;   // ... of whom this part of the time is shuffled
constexpr double kHopeless = 1.02;  // so much longer from the right: not decoded
constexpr int kPeaks = 4;           // stretches drawn for one child
constexpr double kMutation = 0.02;  // share of operations whose key is blurred ...
constexpr double kBlur = 0.2;       // ... by up to this part of the time
constexpr double kApart = 1e10;     // keeps a stretch together

double number(Tick t) {
    return static_cast<double>(t);
}

}  // namespace

Breeder::Breeder(const engine::CompiledProblem& problem, const RoomUnits& units, Rng rng,
                 Decode decode, Count count)
    : p_(problem),
      units_(units),
      rng_(rng),
      decode_(std::move(decode)),
      count_(std::move(count)),
      back_(problem) {
    const std::size_t n = problem.operations.size();
    // Fewer on large problems, where a budget lasts for fewer generations.
    wanted_ = std::clamp<std::size_t>(18'000 / std::max<std::size_t>(1, n), 60, 200);
    makespan_first_ = !problem.problem.objective.empty() &&
                      problem.problem.objective.front() == core::Criterion::Makespan;
    plain_ = makespan_first_ && std::none_of(problem.resources.begin(), problem.resources.end(),
                                             [](const auto& r) { return r.has_calendar; });
    for (const auto& o : problem.operations)
        plain_ = plain_ && o.not_before <= problem.horizon_start;
    key_.resize(n);
    latest_.resize(n);
    weight_.assign(n, 0.0);
    std::vector<double> length(n, 0.0);
    for (std::size_t i = 0; i < n; ++i) {
        const auto& o = problem.operations[i];
        const auto& mode = problem.modes[ix(o.modes.begin)];
        length[i] = number(mode.work);
        for (std::int32_t k = mode.needs.begin; k < mode.needs.end; ++k) {
            const auto& need = problem.needs[ix(k)];
            const auto& first = problem.resources[ix(problem.candidates[ix(need.any_of.begin)])];
            weight_[i] += static_cast<double>(need.amount) / std::max(1, first.capacity);
        }
    }
    // Longest ways to the end by lags; as many sweeps as it takes (they may go in circles).
    tail_ = length;
    bool moved = true;
    for (int sweep = 0; moved && sweep < 30; ++sweep) {
        moved = false;
        for (auto l = problem.lags.rbegin(); l != problem.lags.rend(); ++l) {
            const double by = (l->edge == core::Edge::Start ? 0.0 : length[ix(l->from)]) +
                              number(l->min) + tail_[ix(l->to)];
            if (by <= tail_[ix(l->from)]) continue;
            tail_[ix(l->from)] = by;
            moved = true;
        }
    }
}

bool Breeder::step() {
    return members_.size() < wanted_ ? fill() : breed();
}

void Breeder::join(const RoomPoint& point, const std::vector<std::int64_t>& value,
                   const engine::FlatSchedule& schedule) {
    Member m;
    m.point = point;
    m.value = value;
    m.schedule = schedule;
    m.point.after.clear();
    m.point.genes.delay.clear();
    m.point.genes.earliest.clear();
    m.point.genes.after.clear();
    m.point.genes.waits_inside = false;
    for (const Tick s : schedule.start)
        m.print = (m.print ^ static_cast<std::uint64_t>(s)) * 1099511628211u;  // FNV-1a
    for (const Member& other : members_) {
        if (other.print == m.print) return;
    }
    if (members_.size() < wanted_) {
        members_.push_back(std::move(m));
        return;
    }
    auto worst = std::max_element(members_.begin(), members_.end(),
                                  [](const auto& a, const auto& b) { return a.value < b.value; });
    if (m.value < worst->value) *worst = std::move(m);
}

double Breeder::span_of(const Member& m, double* begin) const {
    const Tick first = *std::min_element(m.schedule.start.begin(), m.schedule.start.end());
    const Tick last = *std::max_element(m.schedule.work_end.begin(), m.schedule.work_end.end());
    if (begin != nullptr) *begin = number(first);
    return std::max(1.0, number(last - first));
}

// A random member: the latest start that its due date leaves, blurred.
bool Breeder::fill() {
    const double longest = std::max(1.0, *std::max_element(tail_.begin(), tail_.end()));
    std::vector<std::size_t> order(key_.size());
    std::vector<double> unit_blur(units_.blocks.size());
    const bool by_unit = rng_.below(2) == 0;
    for (double& b : unit_blur)
        b = rng_.unit() - 0.5;
    for (std::size_t i = 0; i < key_.size(); ++i) {
        const auto& o = p_.operations[i];
        const Tick due = o.order >= 0 && !makespan_first_ ? p_.order_due[ix(o.order)] : never;
        const double blur =
            by_unit ? unit_blur[ix(units_.unit_of[ix(o.block)])] : rng_.unit() - 0.5;
        key_[i] = (due >= never ? 0.0 : number(due - p_.horizon_start)) - tail_[i] + longest * blur;
    }
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return key_[a] < key_[b]; });
    std::vector<Tick> start(key_.size());
    for (std::size_t k = 0; k < order.size(); ++k)
        start[order[k]] = static_cast<Tick>(k);
    RoomPoint point;
    point.key.resize(p_.blocks.size());
    if (rng_.below(2) == 0) point.genes.choice = units_.spare;
    Member first, second;
    if (!forward(start, std::move(point), first)) return !count_(0);
    for (std::size_t i = 0; i < key_.size(); ++i)
        key_[i] = number(first.schedule.work_end[i]);
    if (over_and_back(first, kHopeless * span_of(first), second) && second.value <= first.value)
        std::swap(first, second);
    join(first.point, first.value, first.schedule);
    return !count_(0);
}

void Breeder::set_latest(const Member& like) {
    Tick last = 0;
    for (const Tick t : like.schedule.work_end)
        last = std::max(last, t);
    by_order_.assign(p_.order_due.size(), -never);
    for (std::size_t i = 0; i < latest_.size(); ++i) {
        const std::int32_t o = p_.operations[i].order;
        if (o >= 0) by_order_[ix(o)] = std::max(by_order_[ix(o)], like.schedule.work_end[i]);
    }
    for (std::size_t i = 0; i < latest_.size(); ++i) {
        const std::int32_t o = p_.operations[i].order;
        latest_[i] = last;
        if (o < 0 || makespan_first_ || p_.order_due[ix(o)] >= never) continue;
        latest_[i] = std::max(by_order_[ix(o)], std::min(last, p_.order_due[ix(o)]));
    }
}

// Keys to starts as late as can be, and these decoded. @returns false if nothing came of it.
bool Breeder::over_and_back(const Member& like, double hopeless, Member& child) {
    set_latest(like);
    const auto& start = back_.run(like.schedule, key_, latest_);
    if (count_(1)) return false;
    if (plain_) {
        const Tick first = *std::min_element(start.begin(), start.end());
        const Tick last = *std::max_element(latest_.begin(), latest_.end());
        if (number(last - first) > hopeless) return false;
    }
    RoomPoint point = child.point.key.empty() ? like.point : child.point;
    return forward(start, std::move(point), child);
}

bool Breeder::forward(const std::vector<Tick>& start, RoomPoint point, Member& out) {
    for (std::size_t b = 0; b < p_.blocks.size(); ++b)
        point.key[b] = number(start[ix(p_.ops_of(p_.blocks[b]).front())]);
    const engine::FlatSchedule* schedule = decode_(point, out.value);
    if (schedule == nullptr) return false;
    out.point = std::move(point);
    out.schedule = *schedule;
    return true;
}

std::size_t Breeder::tournament() {
    const auto a = ix(rng_.below(static_cast<int>(members_.size())));
    const auto b = ix(rng_.below(static_cast<int>(members_.size())));
    return members_[b].value < members_[a].value ? b : a;
}

// A stretch in which the father uses the resources most, out of a few drawn ones.
void Breeder::peak(const Member& father, double& from, double& to) {
    double first = 0.0;
    const double span = span_of(father, &first);
    double best = -1.0;
    for (int k = 0; k < kPeaks; ++k) {
        const double length = span * (0.1 + 0.4 * rng_.unit());
        const double begin = first + rng_.unit() * (span - length);
        double sum = 0.0;
        for (std::size_t i = 0; i < key_.size(); ++i) {
            const double inside = std::min(number(father.schedule.work_end[i]), begin + length) -
                                  std::max(number(father.schedule.start[i]), begin);
            if (inside > 0) sum += inside * weight_[i];
        }
        if (sum / length <= best) continue;
        best = sum / length;
        from = begin;
        to = begin + length;
    }
}

void Breeder::child_keys(const Member& mother, const Member& father, RoomPoint& point) {
    double from = 0.0, to = 0.0, begin = 0.0;
    peak(father, from, to);
    const double span = span_of(mother, &begin);
    const auto take = [](auto& mine, const auto& his, std::size_t i) {
        if (mine.size() == his.size() && i < his.size()) mine[i] = his[i];
    };
    for (std::size_t i = 0; i < key_.size(); ++i) {
        const double f = number(father.schedule.work_end[i]);
        const double m = number(mother.schedule.work_end[i]);
        const bool his = f > from && f <= to;
        double key = his ? f : (m <= from ? m - kApart : m + kApart);
        if (rng_.unit() < kMutation) key += span * kBlur * (rng_.unit() - 0.5);
        key_[i] = key;
        if (!his) continue;
        take(point.genes.choice, father.point.genes.choice, i);
        take(point.genes.mode, father.point.genes.mode, i);
        take(point.genes.join, father.point.genes.join, i);
    }
}

// The parent with what happens in a random stretch of time in random order.
void Breeder::shuffled_keys(const Member& parent) {
    double begin = 0.0;
    const double span = span_of(parent, &begin);
    const double length = kShuffled * span;
    const double from = begin + rng_.unit() * (span + length) - length;
    for (std::size_t i = 0; i < key_.size(); ++i) {
        key_[i] = number(parent.schedule.work_end[i]);
        const double middle =
            0.5 * (number(parent.schedule.start[i]) + number(parent.schedule.work_end[i]));
        if (middle >= from && middle < from + length) key_[i] = from + length * rng_.unit();
    }
}

bool Breeder::breed() {
    const std::size_t mother = tournament();
    std::size_t father = tournament();
    if (father == mother) {
        const int others = static_cast<int>(members_.size()) - 1;
        father = (father + 1 + ix(rng_.below(others))) % members_.size();
    }
    Member& child = scratch_;
    child.point = members_[mother].point;
    if (rng_.unit() < kAlone) {
        father = mother;
        shuffled_keys(members_[mother]);
    } else {
        child_keys(members_[mother], members_[father], child.point);
    }
    const std::size_t worse = members_[father].value <= members_[mother].value ? mother : father;
    if (!over_and_back(members_[mother], kHopeless * span_of(members_[worse]), child))
        return !count_(0);
    child.print = 0;
    for (const Tick s : child.schedule.start)
        child.print = (child.print ^ static_cast<std::uint64_t>(s)) * 1099511628211u;
    const bool known = std::any_of(members_.begin(), members_.end(),
                                   [&](const Member& m) { return m.print == child.print; });
    if (!known && child.value <= members_[worse].value) std::swap(members_[worse], child);
    return true;
}

}  // namespace sched::search
