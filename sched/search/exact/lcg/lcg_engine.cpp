// How it works: a variable has two sides, each a bound that only grows along a branch; every
// step is a line of the trail with its reason. propagate() first follows the differences to
// their end, then the clauses by their watched literals, then one propagator, the most urgent,
// until nothing changes or there is a conflict. backtrack() takes lines off the trail.

#include "sched/search/exact/lcg/lcg_engine.hpp"

#include <algorithm>
#include <cassert>

namespace sched::search::lcg {

namespace {

bool is_bool_domain(int lo, int hi) {
    return lo == 0 && hi == 1;
}

}  // namespace

int Engine::new_variable(int lo, int hi) {
    assert(lo <= hi && level() == 0 && !sealed_);
    const int v = variables();
    for (const int bound : {lo, -hi}) {
        const Side side = static_cast<Side>(lb_.size());
        lb_.push_back(bound);
        root_lb_.push_back(bound);
        seen_lb_.push_back(bound);
        current_.push_back(static_cast<int>(trail_.size()));
        trail_.push_back({side, bound, -1, 0, {}});
        watches_.emplace_back();
        enforced_.emplace_back();
        wakes_.emplace_back();
        strongest_.push_back(-1);
    }
    phase_.push_back(0);
    has_phase_.push_back(0);
    saved_.push_back(2);
    atom_of_bool_.push_back(-1);
    if (is_bool_domain(lo, hi)) {
        atom_of_bool_[v] = static_cast<int>(atoms_.size());
        atoms_.push_back({v, 1});
        heap_.add(0.0);
    }
    return v;
}

Lit Engine::new_bool() {
    return {2 * new_variable(0, 1), 1};
}

bool Engine::add_clause(std::span<const Lit> lits) {
    assert(level() == 0);
    if (refuted_) return false;
    clause_.clear();
    for (const Lit l : lits) {
        if (is_true(l)) return true;
        if (is_false(l)) continue;
        // x >= 3 or x >= 5  is  x >= 3;  x >= 3 or x <= 4  is always true
        bool merged = false;
        for (Lit& k : clause_) {
            if (k.side == l.side) {
                k.bound = std::min(k.bound, l.bound);
                merged = true;
            } else if (k.side == flipped(l.side) && k.bound <= 1 - l.bound) {
                return true;
            }
        }
        if (!merged) clause_.push_back(l);
    }
    if (clause_.empty()) {
        refuted_ = true;
        return false;
    }
    if (clause_.size() == 1) {
        if (!enqueue(clause_[0], {})) refuted_ = true;
        return !refuted_;
    }
    watch(attach(clause_, false, 0));
    return true;
}

void Engine::add_difference(Term from, int weight, Term to, Lit when) {
    assert(!sealed_);
    if (when.valid() && is_false(when)) return;
    if (when.valid() && is_true(when)) when = {};
    // to.side + to.offset >= from.side + from.offset + weight
    const int w = from.offset + weight - to.offset;
    arcs_.push_back({from.side, to.side, w, when});
    arcs_.push_back({flipped(to.side), flipped(from.side), w, when});
}

bool Engine::longest_paths(Side from, std::vector<int>& out) const {
    assert(!sealed_ && (from & 1) == 0);
    const int n = variables();
    paths_.resize(static_cast<std::size_t>(n));
    for (; paths_arcs_ < arcs_.size(); ++paths_arcs_) {
        const Difference& a = arcs_[paths_arcs_];
        if (!a.when.valid() && (a.from & 1) == 0 && (a.to & 1) == 0)
            paths_[a.from / 2].emplace_back(a.to / 2, a.weight);
    }
    out.assign(static_cast<std::size_t>(n), kNoPath);
    out[from / 2] = 0;
    std::vector<int> queue{from / 2};
    std::vector<char> waiting(static_cast<std::size_t>(n), 0);
    std::vector<int> rounds(static_cast<std::size_t>(n), 0);
    for (std::size_t k = 0; k < queue.size(); ++k) {
        const int v = queue[k];
        waiting[v] = 0;
        for (const auto& [to, weight] : paths_[v]) {
            const int d = out[v] + weight;
            if (d <= out[to]) continue;
            out[to] = d;
            if (waiting[to]) continue;
            if (++rounds[to] > n) return false;
            waiting[to] = 1;
            queue.push_back(to);
        }
    }
    return true;
}

void Engine::add_propagator(std::unique_ptr<Propagator> propagator, std::span<const Side> wakes,
                            int priority) {
    const int id = static_cast<int>(propagators_.size());
    propagators_.push_back(std::move(propagator));
    priority_.push_back(priority);
    queued_.push_back(0);
    if (static_cast<int>(queue_.size()) <= priority)
        queue_.resize(static_cast<std::size_t>(priority) + 1);
    for (const Side side : wakes) {
        if (wakes_[side].empty() || wakes_[side].back() != id) wakes_[side].push_back(id);
    }
}

void Engine::seal() {
    assert(!sealed_);
    sealed_ = true;
    std::stable_sort(arcs_.begin(), arcs_.end(),
                     [](const Difference& a, const Difference& b) { return a.from < b.from; });
    arcs_from_.assign(lb_.size() + 1, 0);
    for (const auto& a : arcs_)
        ++arcs_from_[a.from + 1];
    for (std::size_t i = 1; i < arcs_from_.size(); ++i)
        arcs_from_[i] += arcs_from_[i - 1];
    for (std::size_t i = 0; i < arcs_.size(); ++i) {
        const Lit when = arcs_[i].when;
        if (when.valid()) enforced_[when.side].emplace_back(when.bound, static_cast<int>(i));
    }
    head_ = 0;
    arc_head_ = 0;
    if (refuted_) return;
    if (!propagate()) refuted_ = true;
}

bool Engine::tighten_root(Lit lit) {
    assert(level() == 0);
    if (refuted_) return false;
    if (!enqueue(lit, {}) || !propagate()) refuted_ = true;
    return !refuted_;
}

bool Engine::enqueue(Lit lit, Reason why) {
    if (is_true(lit)) return true;
    if (is_false(lit)) {
        conflict_.clear();
        explain(lit, why, conflict_);
        conflict_.push_back(negated(lit));
        return false;
    }
    const int at = static_cast<int>(trail_.size());
    trail_.push_back({lit.side, lit.bound, current_[lit.side], level(), why});
    current_[lit.side] = at;
    lb_[lit.side] = lit.bound;
    if (level() == 0) root_lb_[lit.side] = lit.bound;
    return true;
}

bool Engine::imply(Lit lit, std::span<const Lit> because) {
    if (is_true(lit)) return true;
    if (is_false(lit)) {
        conflict_.assign(because.begin(), because.end());
        conflict_.push_back(negated(lit));
        return false;
    }
    const std::size_t start = listed_.size();
    for (const Lit l : because) {
        if (!is_root_true(l)) listed_.push_back(l);
    }
    return enqueue(lit, reason(Listed, start, static_cast<int>(listed_.size() - start)));
}

bool Engine::conflict(std::span<const Lit> because) {
    conflict_.assign(because.begin(), because.end());
    return false;
}

void Engine::explain(Lit lit, Reason why, std::vector<Lit>& out) const {
    const std::size_t ref = why.what >> 3;
    switch (static_cast<ReasonKind>(why.what & 7U)) {
        case Nothing:
            break;
        case Clause: {
            const int size = clauses_[ref];
            const int* lits = clauses_.data() + ref + kHeader;
            for (int k = 1; k < size; ++k)
                out.push_back(negated({lits[2 * k], lits[2 * k + 1]}));
            break;
        }
        case Arc: {
            const Difference& a = arcs_[ref];
            out.push_back({a.from, lit.bound - a.weight});
            if (a.when.valid()) out.push_back(a.when);
            break;
        }
        case ArcOff: {
            const Difference& a = arcs_[ref];
            out.push_back({a.from, why.data});
            out.push_back({flipped(a.to), 1 - (why.data + a.weight)});
            break;
        }
        case Listed:
            for (int k = 0; k < why.data; ++k)
                out.push_back(listed_[ref + static_cast<std::size_t>(k)]);
            break;
    }
}

bool Engine::propagate() {
    bool ok = true;
    while (ok) {
        // Differences first, to their end: clauses then see each side's final bound once.
        while (ok && (arc_head_ < trail_.size() || head_ < trail_.size())) {
            if (arc_head_ < trail_.size()) {
                const int at = static_cast<int>(arc_head_++);
                const Side side = trail_[at].side;
                ++propagations_;
                const int before =
                    trail_[at].previous >= 0 ? trail_[trail_[at].previous].bound : trail_[at].bound;
                ok = (enforced_[side].empty() ||
                      propagate_enforced(side, before, trail_[at].bound)) &&
                     (current_[side] != at || propagate_arcs(side));
                continue;
            }
            const int at = static_cast<int>(head_++);
            const Side side = trail_[at].side;
            if (current_[side] != at) continue;  // a later entry speaks for it
            for (const int p : wakes_[side]) {
                if (!queued_[p]) {
                    queued_[p] = 1;
                    queue_[priority_[p]].push_back(p);
                }
            }
            const int seen = seen_lb_[side];
            seen_lb_[side] = lb_[side];
            ok = propagate_clauses(side, seen, lb_[side]);
        }
        if (!ok) break;
        int next = -1;
        for (auto& q : queue_) {
            if (!q.empty()) {
                next = q.back();
                q.pop_back();
                break;
            }
        }
        if (next < 0) return true;
        queued_[next] = 0;
        ok = propagators_[next]->propagate(*this);
    }
    for (auto& q : queue_) {
        for (const int p : q)
            queued_[p] = 0;
        q.clear();
    }
    return false;
}

bool Engine::propagate_arcs(Side side) {
    const int from = lb_[side];
    for (int i = arcs_from_[side]; i < arcs_from_[side + 1]; ++i) {
        const Difference& a = arcs_[i];
        const int target = from + a.weight;
        if (target <= lb_[a.to]) continue;
        if (!a.when.valid() || is_true(a.when)) {
            if (!enqueue({a.to, target}, reason(Arc, static_cast<std::size_t>(i)))) return false;
        } else if (-lb_[flipped(a.to)] < target && !is_false(a.when)) {
            if (!enqueue(negated(a.when), reason(ArcOff, static_cast<std::size_t>(i), from)))
                return false;
        }
    }
    return true;
}

bool Engine::propagate_enforced(Side side, int from_bound, int to_bound) {
    for (const auto& [bound, i] : enforced_[side]) {
        if (bound <= from_bound || bound > to_bound) continue;
        const Difference& a = arcs_[i];
        const int target = lb_[a.from] + a.weight;
        if (target > lb_[a.to] &&
            !enqueue({a.to, target}, reason(Arc, static_cast<std::size_t>(i)))) {
            return false;
        }
    }
    return true;
}

bool Engine::propagate_clauses(Side side, int from_bound, int to_bound) {
    auto& list = watches_[side];
    const std::size_t n = list.size();
    std::size_t keep = 0;
    for (std::size_t i = 0; i < n; ++i) {
        const Watch w = list[i];
        if (w.threshold <= from_bound || w.threshold > to_bound || is_true(w.blocker)) {
            list[keep++] = w;
            continue;
        }
        int* lits = clauses_.data() + w.clause + kHeader;
        if (lits[0] == flipped(side) && lits[1] == 1 - w.threshold) {
            std::swap(lits[0], lits[2]);
            std::swap(lits[1], lits[3]);
        }
        const Lit first{lits[0], lits[1]};
        if (is_true(first)) {
            list[keep++] = {w.threshold, w.clause, first};
            continue;
        }
        const int size = clauses_[w.clause];
        bool moved = false;
        for (int k = 2; k < size; ++k) {
            const Lit l{lits[2 * k], lits[2 * k + 1]};
            if (is_false(l)) continue;
            lits[2 * k] = lits[2];
            lits[2 * k + 1] = lits[3];
            lits[2] = l.side;
            lits[3] = l.bound;
            watches_[flipped(l.side)].push_back({1 - l.bound, w.clause, first});
            moved = true;
            break;
        }
        if (moved) continue;
        list[keep++] = {w.threshold, w.clause, first};
        if (!enqueue(first, reason(Clause, static_cast<std::size_t>(w.clause)))) {
            for (++i; i < n; ++i)
                list[keep++] = list[i];
            list.resize(keep);
            return false;
        }
    }
    list.resize(keep);
    return true;
}

void Engine::backtrack(int target) {
    if (level() <= target) return;
    const int keep = level_start_[target];
    for (int t = static_cast<int>(trail_.size()) - 1; t >= keep; --t) {
        const Entry& e = trail_[t];
        lb_[e.side] = trail_[e.previous].bound;
        seen_lb_[e.side] = lb_[e.side];
        current_[e.side] = e.previous;
        saved_[variable_of(e.side)] = (e.side & 1) ? 0 : 1;
    }
    trail_.resize(static_cast<std::size_t>(keep));
    listed_.resize(level_listed_[target]);
    level_start_.resize(static_cast<std::size_t>(target));
    level_listed_.resize(static_cast<std::size_t>(target));
    head_ = trail_.size();
    arc_head_ = trail_.size();
    while (!parked_.empty() && parked_.back().first > target) {
        heap_.insert(parked_.back().second);
        parked_.pop_back();
    }
}

}  // namespace sched::search::lcg
