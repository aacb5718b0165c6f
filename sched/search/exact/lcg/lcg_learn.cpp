// Conflict analysis and the store of learned clauses. How it works: from the conflict back
// along the trail every literal of the present level is replaced by its reason, until one is
// left (first unique implication point). One literal a side is enough, those that follow from
// earlier ones are dropped. reduce() keeps the half of the clauses that bind the fewest levels
// together, the active ones first.

#include <algorithm>
#include <bit>
#include <cassert>
#include <limits>

#include "sched/search/exact/lcg/lcg_engine.hpp"

namespace sched::search::lcg {

namespace {

constexpr int kNoNeed = std::numeric_limits<int>::min();

}  // namespace

/// The earliest trail entry that made `lit` true. @pre is_true(lit)
int Engine::entry_of(Lit lit) const {
    int t = current_[lit.side];
    for (int p = trail_[t].previous; p >= 0 && trail_[p].bound >= lit.bound; p = trail_[t].previous)
        t = p;
    return t;
}

void Engine::mark(Lit lit) {
    if (is_root_true(lit)) return;
    const int t = entry_of(lit);
    if (need_[t] == kNoNeed) {
        need_[t] = lit.bound;
        if (trail_[t].level == level()) {
            ++open_;
        } else {
            lower_.push_back(t);
        }
    } else {
        need_[t] = std::max(need_[t], lit.bound);
    }
}

bool Engine::analyze() {
    int top = 0;
    for (const Lit l : conflict_) {
        if (!is_root_true(l)) top = std::max(top, trail_[entry_of(l)].level);
    }
    if (top == 0) {
        refuted_ = true;
        return false;
    }
    if (top < level()) backtrack(top);
    if (need_.size() < trail_.size()) need_.resize(trail_.size() * 2, kNoNeed);
    open_ = 0;
    lower_.clear();
    for (const Lit l : conflict_)
        mark(l);
    int t = static_cast<int>(trail_.size()) - 1;
    Lit uip;
    for (;; --t) {
        while (need_[t] == kNoNeed)
            --t;
        const Lit l{trail_[t].side, need_[t]};
        need_[t] = kNoNeed;
        if (open_ == 1) {
            uip = l;
            break;
        }
        bump_variable(variable_of(l.side));
        --open_;
        const Reason why = trail_[t].why;
        if ((why.what & 7U) == Clause) {
            int* c = clauses_.data() + (why.what >> 3);
            if (c[1] != 0) c[3] = std::bit_cast<int>(std::bit_cast<float>(c[3]) + clause_step_);
        }
        scratch_.clear();
        explain(l, why, scratch_);
        for (const Lit k : scratch_)
            mark(k);
    }

    // The clause: one literal a side, the strongest (it implies the weaker ones).
    strongest_[uip.side] = t;
    cleared_.clear();
    cleared_.push_back(uip.side);
    for (const int e : lower_) {
        const Side side = trail_[e].side;
        if (strongest_[side] < 0) cleared_.push_back(side);
        strongest_[side] = std::max(strongest_[side], e);
    }
    minimize();
    clause_.clear();
    clause_.push_back(negated(uip));
    int back = 0;
    int second = 0;
    ++stamp_;
    level_stamp_.resize(static_cast<std::size_t>(level()) + 1, 0);
    int lbd = 1;
    for (const int e : lower_) {
        if (strongest_[trail_[e].side] == e) {
            clause_.push_back(negated({trail_[e].side, need_[e]}));
            const int lev = trail_[e].level;
            if (level_stamp_[lev] != stamp_) {
                level_stamp_[lev] = stamp_;
                ++lbd;
            }
            if (lev > back) {
                back = lev;
                second = static_cast<int>(clause_.size()) - 1;
            }
        }
    }
    for (const int e : lower_)
        need_[e] = kNoNeed;
    for (const Side side : cleared_)
        strongest_[side] = -1;
    for (const Lit l : clause_)
        bump_atom(atom_of(l));

    backtrack(back);
    bool ok = true;
    if (clause_.size() == 1) {
        ok = enqueue(clause_[0], {});
    } else {
        std::swap(clause_[1], clause_[second]);
        const int c = attach(clause_, true, lbd);
        watch(c);
        ok = enqueue(clause_[0], reason(Clause, static_cast<std::size_t>(c)));
    }
    clause_step_ *= 1.0F / 0.999F;
    if (clause_step_ > 1e20F) {
        for (const int c : learned_)
            clauses_[c + 3] = std::bit_cast<int>(std::bit_cast<float>(clauses_[c + 3]) * 1e-20F);
        clause_step_ *= 1e-20F;
    }
    atom_step_ /= 0.95;
    if (atom_step_ > 1e100) {
        heap_.scale(1e-100);
        atom_step_ *= 1e-100;
    }
    if (!ok) refuted_ = true;  // only possible at root level
    return ok;
}

/// Drops literals that follow from others of the clause which stand earlier on the trail (so that
/// no two literals justify each other).
void Engine::minimize() {
    for (const int e : lower_) {
        const Side side = trail_[e].side;
        if (strongest_[side] != e) continue;
        const Reason why = trail_[e].why;
        if ((why.what & 7U) == Nothing) continue;
        scratch_.clear();
        explain({side, need_[e]}, why, scratch_);
        bool follows = true;
        for (const Lit k : scratch_) {
            if (is_root_true(k)) continue;
            const int s = strongest_[k.side];
            if (s < 0 || s >= e || need_[s] == kNoNeed || need_[s] < k.bound) {
                follows = false;
                break;
            }
        }
        // A negative mark, not -1: the entry still stands for the others' sake, it just is not
        // written.
        if (follows) redundant_.push_back(e);
    }
    for (const int e : redundant_)
        strongest_[trail_[e].side] = -1;
    redundant_.clear();
}

int Engine::attach(std::span<const Lit> lits, bool is_learned, int lbd) {
    const int c = static_cast<int>(clauses_.size());
    clauses_.push_back(static_cast<int>(lits.size()));
    clauses_.push_back(is_learned ? 1 : 0);
    clauses_.push_back(lbd);
    clauses_.push_back(std::bit_cast<int>(is_learned ? clause_step_ : 0.0F));
    for (const Lit l : lits) {
        clauses_.push_back(l.side);
        clauses_.push_back(l.bound);
    }
    (is_learned ? learned_ : given_).push_back(c);
    return c;
}

void Engine::watch(int c) {
    const int* lits = clauses_.data() + c + kHeader;
    const Lit a{lits[0], lits[1]};
    const Lit b{lits[2], lits[3]};
    watches_[flipped(a.side)].push_back({1 - a.bound, c, b});
    watches_[flipped(b.side)].push_back({1 - b.bound, c, a});
}

void Engine::reduce() {
    assert(level() == 0);
    std::vector<int> order = learned_;
    std::stable_sort(order.begin(), order.end(), [this](int a, int b) {
        const int la = std::min(clauses_[a + 2], 12);
        const int lb = std::min(clauses_[b + 2], 12);
        if (la != lb) return la < lb;
        return std::bit_cast<float>(clauses_[a + 3]) > std::bit_cast<float>(clauses_[b + 3]);
    });
    std::size_t keep = order.size() / 2;
    while (keep < order.size() && clauses_[order[keep] + 2] <= 2)
        ++keep;
    order.resize(keep);
    std::sort(order.begin(), order.end());
    const std::vector<int> old = std::move(clauses_);
    const std::vector<int> given = std::move(given_);
    clauses_.clear();
    given_.clear();
    learned_.clear();
    for (auto& list : watches_)
        list.clear();
    std::vector<Lit> lits;
    for (const bool is_learned : {false, true}) {
        for (const int c : is_learned ? order : given) {
            lits.clear();
            bool satisfied = false;
            for (int k = 0; k < old[c] && !satisfied; ++k) {
                const Lit l{old[c + kHeader + 2 * k], old[c + kHeader + 2 * k + 1]};
                if (is_true(l)) satisfied = true;
                if (!is_false(l)) lits.push_back(l);
            }
            if (satisfied) continue;
            assert(lits.size() >= 2);  // propagation at root level is complete
            const int fresh = attach(lits, is_learned, old[c + 2]);
            clauses_[fresh + 3] = old[c + 3];
            watch(fresh);
        }
    }
    // Reasons at root level are never asked for again; nothing else is on the trail.
    for (Entry& e : trail_)
        e.why = {};
    forget_atoms();
}

}  // namespace sched::search::lcg
