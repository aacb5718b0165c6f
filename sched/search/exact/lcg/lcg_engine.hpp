#pragma once
// The engine of the exact solver: bounds propagation that remembers why, and learns a clause from
// every conflict (first unique implication point), so that no part of the search is refuted twice.
//
// Sources: Ohrimenko, Stuckey & Codish 2009 (see lcg_types.hpp); T. Feydy & P. J. Stuckey, "Lazy
// clause generation reengineered", CP 2009; A. Schutt, T. Feydy, P. J. Stuckey, M. Wallace,
// "Explaining the cumulative propagator", Constraints 16 (2011); N. Eén & N. Sörensson, "An
// extensible SAT-solver", SAT 2003 (watches, activities); G. Audemard & L. Simon, "Predicting
// learnt clauses quality in modern SAT solvers", IJCAI 2009 (which learned clauses to keep); M.
// Luby, A. Sinclair, D. Zuckerman, "Optimal speedup of Las Vegas algorithms", 1993 (restarts).
//
// Literals live in clauses as (side, bound) pairs; no Boolean stands behind them. A literal that a
// learned clause mentions becomes a branching atom with an activity.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <unordered_map>
#include <vector>

#include "sched/search/exact/lcg/lcg_heap.hpp"
#include "sched/search/exact/lcg/lcg_types.hpp"

namespace sched::search::lcg {

class Engine;

/// A constraint with an algorithm of its own. Called when a side that it watches has moved.
class Propagator {
public:
    virtual ~Propagator() = default;
    /// @returns false after a conflict (imply() or conflict() returned false).
    virtual bool propagate(Engine& engine) = 0;
};

/// What to try next when no activity says so.
class Brancher {
public:
    virtual ~Brancher() = default;
    /// @returns an undetermined literal, or an invalid one when every variable is fixed.
    virtual Lit next(const Engine& engine) = 0;
};

struct Limits {
    std::int64_t conflicts = -1;              // < 0: none
    std::function<bool()> stop;               // asked every few hundred steps
    std::size_t max_clause_ints = 96u << 20;  // memory cap on clauses (ints)
};

enum class Answer { Satisfied, Refuted, Limit };

class Engine {
public:
    // ---- building (before the first search) ----
    int new_variable(int lo, int hi);
    /// A variable 0..1 as the literal "is 1".
    Lit new_bool();
    /// At root level. @returns false when the problem is refuted by it.
    bool add_clause(std::span<const Lit> lits);
    bool add_clause(std::initializer_list<Lit> lits) {
        return add_clause(std::span<const Lit>(lits.begin(), lits.size()));
    }
    /// to >= from + weight, always or whenever `when` is true.
    void add_difference(Term from, int weight, Term to, Lit when = {});
    /// Longest paths over the unconditional differences posted so far: value(side s) >= value(from)
    /// + out[s / 2] for every s that is even (no path: kNoPath). @returns false on a positive
    /// cycle: the problem is refuted. @pre from is even.
    bool longest_paths(Side from, std::vector<int>& out) const;
    static constexpr int kNoPath = -(1 << 30);
    /// Lower priority number runs earlier.
    void add_propagator(std::unique_ptr<Propagator> propagator, std::span<const Side> wakes,
                        int priority);
    /// Sorts what was built. Must be called once before solving.
    void seal();

    // ---- state ----
    int lb(Side side) const { return lb_[side]; }
    int ub(Side side) const { return -lb_[flipped(side)]; }
    int root_lb(Side side) const { return root_lb_[side]; }
    int root_ub(Side side) const { return -root_lb_[flipped(side)]; }
    int lb(Term t) const { return lb_[t.side] + t.offset; }
    int ub(Term t) const { return t.offset - lb_[flipped(t.side)]; }
    bool is_true(Lit lit) const { return lb_[lit.side] >= lit.bound; }
    bool is_false(Lit lit) const { return lb_[flipped(lit.side)] >= 1 - lit.bound; }
    bool is_root_true(Lit lit) const { return root_lb_[lit.side] >= lit.bound; }
    int variables() const { return static_cast<int>(lb_.size() / 2); }
    int level() const { return static_cast<int>(level_start_.size()); }
    std::int64_t conflicts() const { return conflicts_; }
    std::int64_t decisions() const { return decisions_; }
    std::int64_t propagations() const { return propagations_; }
    std::size_t learned() const { return learned_.size(); }

    // ---- for propagators ----
    /// Makes `lit` true because all of `because` are. @returns false on conflict.
    bool imply(Lit lit, std::span<const Lit> because);
    /// All of `because` are true and cannot be together. @returns false.
    bool conflict(std::span<const Lit> because);

    // ---- solving ----
    /// A lasting bound at root level. @returns false when that refutes the problem.
    bool tighten_root(Lit lit);
    /// Runs until a solution, a refutation or a limit. `first`, if valid and undetermined, is the
    /// first decision of every descent. On Satisfied the bounds stay in place until `backtrack(0)`.
    /// @param by_activity atoms first, brancher after; false: the brancher alone decides.
    Answer search(Brancher& brancher, const Limits& limits, bool by_activity, Lit first = {});
    void backtrack(int level);
    /// The value each variable should be tried at first (a solution to stay near).
    void set_phase(int variable, int value) {
        phase_[variable] = value;
        has_phase_[variable] = 1;
    }
    /// The value a Boolean should be tried at first, until the search has seen it at another.
    void suggest(int variable, bool value) { saved_[variable] = value ? 1 : 0; }
    bool refuted() const { return refuted_; }
    /// Keeps the better half of the learned clauses and drops what root bounds made idle. At root
    /// level.
    void reduce();

private:
    enum ReasonKind : std::uint32_t { Nothing, Clause, Arc, ArcOff, Listed };
    struct Reason {
        std::uint32_t what = 0;  // kind in the low 3 bits, reference above
        int data = 0;
    };
    static Reason reason(ReasonKind kind, std::size_t ref, int data = 0) {
        return {static_cast<std::uint32_t>(ref << 3) | static_cast<std::uint32_t>(kind), data};
    }
    struct Entry {
        Side side;
        int bound;
        int previous;  // index of the earlier entry of this side
        int level;
        Reason why;
    };
    struct Watch {
        int threshold;  // fires when lb of the list's side reaches it
        int clause;
        Lit blocker;
    };
    struct Difference {
        Side from;
        Side to;
        int weight;
        Lit when;
    };

    bool enqueue(Lit lit, Reason why);
    bool propagate();
    bool propagate_clauses(Side side, int from_bound, int to_bound);
    bool propagate_arcs(Side side);
    bool propagate_enforced(Side side, int from_bound, int to_bound);
    void explain(Lit lit, Reason why, std::vector<Lit>& out) const;
    int entry_of(Lit lit) const;
    void mark(Lit lit);
    bool analyze();
    void minimize();
    int attach(std::span<const Lit> lits, bool learned, int lbd);
    void watch(int clause);
    void bump_variable(int variable);
    int atom_of(Lit lit);
    void bump_atom(int atom);
    Lit pick_atom();
    void forget_atoms();

    // trail
    std::vector<int> lb_;       // per side
    std::vector<int> root_lb_;  // per side, at level 0
    std::vector<int> current_;  // per side: latest trail entry
    std::vector<Entry> trail_;
    std::vector<int> level_start_;
    std::vector<std::size_t> level_listed_;
    std::vector<Lit> listed_;   // reasons given in full
    std::vector<int> seen_lb_;  // per side: what the clauses have seen
    std::size_t head_ = 0;      // next entry for clauses and propagators
    std::size_t arc_head_ = 0;  // next entry for differences

    // clauses: [size, learned, lbd, activity bits, (side, bound)...]
    static constexpr int kHeader = 4;
    std::vector<int> clauses_;
    std::vector<int> given_;
    std::vector<int> learned_;
    std::vector<std::vector<Watch>> watches_;
    float clause_step_ = 1.0F;

    // differences
    mutable std::vector<std::vector<std::pair<int, int>>>
        paths_;                           // per variable: (variable, weight)
    mutable std::size_t paths_arcs_ = 0;  // arcs that paths_ holds
    std::vector<Difference> arcs_;
    std::vector<int> arcs_from_;                              // per side: first arc, CSR
    std::vector<std::vector<std::pair<int, int>>> enforced_;  // per side: (bound, arc)

    // propagators
    std::vector<std::unique_ptr<Propagator>> propagators_;
    std::vector<int> priority_;
    std::vector<std::vector<int>> wakes_;
    std::vector<char> queued_;
    std::vector<std::vector<int>> queue_;  // per priority

    // conflict analysis
    std::vector<Lit> conflict_;
    std::vector<int> need_;       // per trail entry: bound needed, kNoNeed when unmarked
    std::vector<int> lower_;      // marked entries below the conflict level
    std::vector<int> strongest_;  // per side: trail entry in the clause under construction, -1
    std::vector<Lit> clause_;
    std::vector<Lit> scratch_;
    std::vector<int> cleared_;
    std::vector<int> redundant_;
    std::vector<std::int64_t> level_stamp_;
    std::int64_t stamp_ = 0;
    int open_ = 0;

    // branching
    struct Atom {
        int variable;
        int bound;
    };
    std::vector<Atom> atoms_;
    std::vector<int> atom_of_bool_;                      // per variable: atom, -1
    std::unordered_map<std::uint64_t, int> atom_index_;  // looked up only, never walked
    ActivityHeap heap_;
    std::vector<std::pair<int, int>> parked_;  // (level, atom)
    double atom_step_ = 1.0;
    std::vector<int> phase_;
    std::vector<char> has_phase_;
    std::vector<char> saved_;  // Booleans: last value, 2 = none

    std::int64_t conflicts_ = 0;
    std::int64_t decisions_ = 0;
    std::int64_t propagations_ = 0;
    bool refuted_ = false;
    bool sealed_ = false;
};

}  // namespace sched::search::lcg
