// Tabu search for the makespan. A path from the last end back along arcs without slack falls into
// blocks of one place each. A shorter makespan needs some operation of a block to go before its
// first or behind its last; such changes, and critical operations moved to other places, are
// estimated by the heads and tails that they would have with all others as they are. The best that
// undoes nothing recent is made.

#include <algorithm>

#include "sched/search/room/path_search.hpp"

namespace sched::search {

namespace {

constexpr std::int64_t kPatience = 12'500;  // moves on end that bring nothing better

}  // namespace

void PathSearch::critical_path() {
    path_.clear();
    int pick = n_, ties = 0;
    for (const int o : m_.last) {
        if (graph_.end(o) == graph_.makespan() && rng_.below(++ties) == 0) pick = o;
    }
    Link link{pick, -1, -1};
    while (link.op != n_) {
        path_.push_back(link);
        const int o = link.op;
        const int head = graph_.head(o);
        Link next{n_, -1, -1};
        int tight = 0;
        for (int a = m_.in_begin[ix(o)]; a < m_.in_begin[ix(o) + 1]; ++a) {
            const GraphModel::Arc& arc = m_.in[ix(a)];
            if (graph_.arc_edge(arc) == head && (tight++ == 0 || rng_.below(tight) == 0))
                next = {arc.op, -1, -1};
        }
        for (int need = 0; need < m_.width; ++need) {
            const int use = graph_.use_of(o, need);
            const int b = graph_.before(use);
            if (b == graph_.none() || graph_.end(graph_.op_of(b)) != head) continue;
            if (tight++ == 0 || rng_.below(tight) == 0) next = {graph_.op_of(b), b, use};
        }
        if (head == 0 && next.op != n_ && graph_.time(next.op) == 0) break;
        link = next;
    }
    std::reverse(path_.begin(), path_.end());
}

void PathSearch::offer(const Move& move, bool tabu) {
    const bool denied = tabu && move.estimate >= target_;
    Move& best = denied ? denied_ : chosen_;
    int& ties = denied ? denied_ties_ : chosen_ties_;
    if (ties == 0 || move.estimate < best.estimate) {
        best = move;
        ties = 1;
    } else if (move.estimate == best.estimate && rng_.below(++ties) == 0) {
        best = move;
    }
}

int PathSearch::estimate_end(int o, int use, int end) const {
    return std::max(graph_.ready(o, use), end) + graph_.time(o);
}

int PathSearch::estimate_tail(int o, int use, int tail) const {
    int from_end = 0, from_start = 0;
    graph_.rest(o, use, from_end, from_start);
    return std::max(std::max(from_end, tail) + graph_.time(o), from_start);
}

// Uses of a block on its place, one after the other; path_[k].use is that of k as predecessor, and
// path_[k].next that of its follower.
void PathSearch::forward(int a, int b) {
    const int u = path_[ix(a)].op, v = path_[ix(b)].op;
    if (!graph_.free_after(u, v)) return;
    const int use_u = path_[ix(a)].use, use_v = path_[ix(b - 1)].next;
    bool tabu = false;
    int end = graph_.end(graph_.op_of(graph_.before(use_u)));
    for (int k = a + 1; k <= b; ++k) {
        const int o = path_[ix(k)].op;
        end = estimate_end(o, path_[ix(k - 1)].next, end);
        ends_[ix(k)] = end;
        tabu = tabu || forbidden(o, u) > now_;
    }
    const int end_u = estimate_end(u, use_u, end);
    int tail = estimate_tail(u, use_u, graph_.tail(graph_.op_of(graph_.after(use_v))));
    int estimate = end_u + tail - graph_.time(u);
    for (int k = b; k > a; --k) {
        const int o = path_[ix(k)].op;
        tail = estimate_tail(o, path_[ix(k - 1)].next, tail);
        estimate = std::max(estimate, ends_[ix(k)] + tail - graph_.time(o));
    }
    offer({u, graph_.choice(u), use_u - graph_.use_of(u, 0), use_v, estimate, 1}, tabu);
}

void PathSearch::backward(int a, int b) {
    const int u = path_[ix(a)].op, v = path_[ix(b)].op;
    if (!graph_.free_before(v, u)) return;
    const int use_u = path_[ix(a)].use, use_v = path_[ix(b - 1)].next;
    bool tabu = false;
    int tail = graph_.tail(graph_.op_of(graph_.after(use_v)));
    for (int k = b - 1; k >= a; --k) {
        const int o = path_[ix(k)].op;
        tail = estimate_tail(o, path_[ix(k)].use, tail);
        ends_[ix(k)] = tail;
        tabu = tabu || forbidden(v, o) > now_;
    }
    const int tail_v = estimate_tail(v, use_v, tail);
    int end = estimate_end(v, use_v, graph_.end(graph_.op_of(graph_.before(use_u))));
    int estimate = end + tail_v - graph_.time(v);
    for (int k = a; k < b; ++k) {
        const int o = path_[ix(k)].op;
        end = estimate_end(o, path_[ix(k)].use, end);
        estimate = std::max(estimate, end + ends_[ix(k)] - graph_.time(o));
    }
    offer({v, graph_.choice(v), use_v - graph_.use_of(v, 0), use_u, estimate, -1}, tabu);
}

// Moves within the first block only pay at its end, within the last one only at its start.
void PathSearch::block(int from, int to, bool first, bool last) {
    if (to - from == 1) {
        if (!first || !last) forward(from, to);
        return;
    }
    if (!last) {
        for (int k = from; k < to; ++k)
            forward(k, to);  // to the end
        for (int k = from + 1; k < to; ++k)
            backward(k, to);  // the last one inwards
    }
    if (!first) {
        for (int k = from + 1; k <= to; ++k)
            backward(from, k);  // to the start
        for (int k = from + 1; k < to; ++k)
            forward(from, k);  // the first one inwards
    }
}

// u by its other choices that differ in one place, wherever no circle can arise.
void PathSearch::other_choices(int u) {
    const int now = graph_.choice(u);
    for (int c = m_.first_choice[ix(u)]; c < m_.first_choice[ix(u) + 1]; ++c) {
        if (c == now) continue;
        int need = -1, changed = 0;
        for (int k = 0; k < m_.width; ++k) {
            if (m_.place[ix((c << m_.shift) + k)] == m_.place[ix((now << m_.shift) + k)]) continue;
            need = k;
            ++changed;
        }
        if (changed != 1 || m_.place[ix((c << m_.shift) + need)] < 0) continue;
        const bool tabu = places_[ix(c)] > now_;
        const int use = graph_.use_of(u, need);
        const int ready = graph_.ready(u, use);
        int rest = 0, rest_start = 0;
        graph_.rest(u, use, rest, rest_start);
        int x = graph_.none();
        int y = graph_.first(m_.place[ix((c << m_.shift) + need)]);
        while (y != graph_.none() && !graph_.free_before(u, graph_.op_of(y))) {
            x = y;
            y = graph_.after(y);
        }
        for (;;) {
            if (x != graph_.none() && !graph_.free_after(u, graph_.op_of(x))) break;
            const int tail =
                std::max(m_.time[ix(c)] + std::max(rest, graph_.tail(graph_.op_of(y))), rest_start);
            offer({u, c, need, x, std::max(ready, graph_.end(graph_.op_of(x))) + tail, 0}, tabu);
            if (y == graph_.none()) break;
            x = y;
            y = graph_.after(y);
        }
    }
}

// Where the needs of u go. On its other places it passes whatever stands before where it goes, so
// that no circle closes through them.
void PathSearch::after_of(const Move& move, std::vector<int>& after) const {
    graph_.standing(move.u, after);
    if (move.way == 0) {
        after[ix(move.need)] = move.beside;
        return;
    }
    const int goal = graph_.position(graph_.op_of(move.beside));
    for (int k = 0; k < m_.width; ++k) {
        const int use = graph_.use_of(move.u, k);
        if (graph_.place(use) < 0) continue;
        if (move.way > 0) {
            for (int y = graph_.after(use);
                 y != graph_.none() && graph_.position(graph_.op_of(y)) <= goal;
                 y = graph_.after(y))
                after[ix(k)] = y;
        } else {
            while (after[ix(k)] != graph_.none() &&
                   graph_.position(graph_.op_of(after[ix(k)])) >= goal)
                after[ix(k)] = graph_.before(after[ix(k)]);
        }
    }
}

bool PathSearch::perform(const Move& move) {
    const int u = move.u;
    after_of(move, after_);
    const std::int64_t until = now_ + tenure_ + rng_.below(tenure_);
    const int old = graph_.choice(u);
    const int use = graph_.use_of(u, move.need);
    graph_.standing(u, back_);
    const int next = graph_.after(use), previous = graph_.before(use);
    if (!graph_.insert(u, move.choice, after_)) return false;
    if (move.way == 0) {
        places_[ix(old)] = until;
    } else if (move.way > 0) {
        for (int o = next; o != graph_.none() && o != use; o = graph_.after(o))
            forbidden(u, graph_.op_of(o)) = until;
    } else {
        for (int o = previous; o != graph_.none() && o != use; o = graph_.before(o))
            forbidden(graph_.op_of(o), u) = until;
    }
    return true;
}

GraphOrder PathSearch::tabu(const GraphOrder& from) {
    graph_.load(from.order, from.choice);
    GraphOrder best = graph_.save();
    graph_.evaluate(completion_, best.value);
    target_ = graph_.makespan();
    now_ += 4 * tenure_ + 2;  // what an earlier descent forbade is over
    std::int64_t since = 0;
    int refused = 0;
    while (since < kPatience && refused < 20 && target_ > bound_.front() && !watch_.count()) {
        ++now_;
        critical_path();
        chosen_ties_ = denied_ties_ = 0;
        const int length = static_cast<int>(path_.size());
        for (int a = 0; a < length;) {
            int b = a;
            while (b + 1 < length && path_[ix(b)].use >= 0 &&
                   graph_.place(path_[ix(b)].use) == graph_.place(path_[ix(a)].use))
                ++b;
            if (b > a) block(a, b, a == 0, b + 1 == length);
            a = std::max(b, a + 1);
        }
        if (m_.chooses) {
            for (const Link& link : path_)
                other_choices(link.op);
        }
        // One block alone: nothing is better with these choices.
        if (chosen_ties_ == 0 && denied_ties_ == 0) break;
        // Everything is forbidden: the least bad of it, as an aspiration of last resort.
        if (!perform(chosen_ties_ > 0 ? chosen_ : denied_)) {
            ++refused;
            continue;
        }
        refused = 0;
        ++since;
        if (graph_.makespan() >= target_) continue;
        target_ = graph_.makespan();
        best = graph_.save();
        graph_.evaluate(completion_, best.value);
        since = 0;
    }
    return best;
}

}  // namespace sched::search
