// Annealing for what orders are late by. A move is made where a late order's last operation,
// followed back along arcs without slack, waits for another on one of its places: the two change
// turns, or one goes to another place. It is made, weighed, and taken back if it is not accepted.

#include <algorithm>
#include <cmath>

#include "sched/search/room/path_search.hpp"

namespace sched::search {

namespace {

constexpr double kCold = 0.05;    // in mean lengths x mean weights, as kHot and kWarm
constexpr int kStepsAHeat = 256;  // moves from one temperature to the next
constexpr int kMostMisses = 1000;

}  // namespace

// Moves of one annealing; a small budget still sees the elites bred.
std::int64_t PathSearch::annealing_length() const {
    const std::int64_t wanted = 3000 * static_cast<std::int64_t>(n_);
    if (watch_.share() == 0) return wanted;
    return std::clamp<std::int64_t>(watch_.share() / 48, std::min<std::int64_t>(1000, wanted),
                                    wanted);
}

double PathSearch::cost(const std::vector<std::int64_t>& value) const {
    double sum = 0.0;
    for (std::size_t k = 0; k < value.size(); ++k)
        sum += scale_[k] * static_cast<double>(value[k]);
    return sum;
}

// The last operations of late orders; none is late, and the objective wants more: of all.
void PathSearch::list_late() {
    late_.clear();
    ender_.assign(m_.due.size(), -1);
    int latest = -1;
    for (const int o : m_.last) {
        const int k = m_.order[ix(o)];
        if (latest < 0 || graph_.end(o) > graph_.end(latest)) latest = o;
        if (k >= 0 && (ender_[ix(k)] < 0 || graph_.end(o) > graph_.end(ender_[ix(k)])))
            ender_[ix(k)] = o;
    }
    for (std::size_t k = 0; k < m_.due.size(); ++k) {
        if (ender_[k] >= 0 && m_.weight[k] > 0 && graph_.end(ender_[k]) > m_.due[k])
            late_.push_back(ender_[k]);
    }
    if (!whole_ || (!late_.empty() && rng_.below(8) > 0)) return;
    if (latest >= 0) late_.push_back(latest);
    if (std::find(m_.criteria.begin(), m_.criteria.end(), core::Criterion::FlowTime) ==
        m_.criteria.end())
        return;
    for (const int o : ender_) {
        if (o >= 0) late_.push_back(o);
    }
}

bool PathSearch::draw(Move& move) {
    int o = late_[ix(rng_.below(static_cast<int>(late_.size())))];
    int ties = 0, steps = 0, elsewhere = n_;
    while (o != n_) {
        const int head = graph_.head(o);
        if (m_.chooses && rng_.below(++steps) == 0) elsewhere = o;
        int next = n_, tight = 0;
        for (int a = m_.in_begin[ix(o)]; a < m_.in_begin[ix(o) + 1]; ++a) {
            const GraphModel::Arc& arc = m_.in[ix(a)];
            if (graph_.arc_edge(arc) == head && (tight++ == 0 || rng_.below(tight) == 0))
                next = arc.op;
        }
        for (int need = 0; need < m_.width; ++need) {
            const int use = graph_.use_of(o, need);
            const int b = graph_.before(use);
            if (b == graph_.none() || graph_.end(graph_.op_of(b)) != head) continue;
            const int op = graph_.op_of(b);
            if (rng_.below(++ties) == 0)
                move = {op, graph_.choice(op), b - graph_.use_of(op, 0), use, 0, 1};
            if (tight++ == 0 || rng_.below(tight) == 0) next = op;
        }
        o = next;
    }
    if (elsewhere != n_ && (ties == 0 || rng_.below(3) == 0))
        return draw_elsewhere(elsewhere, move) || ties > 0;
    return ties > 0;
}

// u by a random other choice that differs in one place, there beside what is done at that time.
bool PathSearch::draw_elsewhere(int u, Move& move) {
    const int first = m_.first_choice[ix(u)];
    const int count = m_.first_choice[ix(u) + 1] - first;
    if (count < 2) return false;
    const int c = first + rng_.below(count);
    const int now = graph_.choice(u);
    int need = -1, changed = 0;
    for (int k = 0; k < m_.width; ++k) {
        if (m_.place[ix((c << m_.shift) + k)] == m_.place[ix((now << m_.shift) + k)]) continue;
        need = k;
        ++changed;
    }
    if (changed != 1 || m_.place[ix((c << m_.shift) + need)] < 0) return false;
    int x = graph_.none();
    int y = graph_.first(m_.place[ix((c << m_.shift) + need)]);
    int ties = 0;
    for (;;) {
        if (x != graph_.none() && graph_.head(graph_.op_of(x)) >= graph_.end(u)) break;
        if ((y == graph_.none() || graph_.end(graph_.op_of(y)) > graph_.head(u)) &&
            rng_.below(++ties) == 0)
            move = {u, c, need, x, 0, 0};
        if (y == graph_.none()) break;
        x = y;
        y = graph_.after(y);
    }
    return ties > 0;
}

GraphOrder PathSearch::anneal(const GraphOrder& from, double hot) {
    const std::int64_t length = annealing_length();
    graph_.load(from.order, from.choice);
    GraphOrder best = graph_.save();
    graph_.evaluate(completion_, best.value);
    std::vector<std::int64_t> now = best.value;
    double now_cost = cost(now);
    list_late();
    double heat = hot;
    const double factor =
        std::pow(kCold / hot, static_cast<double>(kStepsAHeat) / static_cast<double>(length));
    int misses = 0;
    for (std::int64_t t = 1;
         t <= length && !late_.empty() && misses < kMostMisses && !watch_.count(); ++t) {
        if (t % kStepsAHeat == 0) heat *= factor;
        Move move;
        if (!draw(move)) {
            ++misses;
            continue;
        }
        after_of(move, after_);
        graph_.standing(move.u, back_);
        const int old = graph_.choice(move.u);
        if (!graph_.insert(move.u, move.choice, after_)) {
            ++misses;
            continue;
        }
        misses = 0;
        graph_.evaluate(completion_, value_);
        const double next_cost = cost(value_);
        if (next_cost > now_cost && rng_.unit() >= std::exp((now_cost - next_cost) / heat)) {
            graph_.insert(move.u, old, back_);
            continue;
        }
        now = value_;
        now_cost = next_cost;
        list_late();
        if (!(now < best.value)) continue;
        // Saving costs as much as many moves: while it is hot only what is best of all.
        if (!better(now, best_.value) && heat >= 0.3 * hot) continue;
        best = graph_.save();
        best.value = now;
        if (best.value == bound_) break;
    }
    return best;
}

}  // namespace sched::search
