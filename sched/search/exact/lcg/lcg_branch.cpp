// Branching by activity, and the search loop.

#include <algorithm>
#include <cassert>

#include "sched/search/exact/lcg/lcg_engine.hpp"

namespace sched::search::lcg {

namespace {

constexpr std::size_t kMostAtoms = 400000;

std::uint64_t atom_key(int variable, int bound) {
    return (static_cast<std::uint64_t>(static_cast<std::uint32_t>(variable)) << 32) |
           static_cast<std::uint32_t>(bound);
}

}  // namespace

int Engine::atom_of(Lit lit) {
    const int v = variable_of(lit.side);
    if (atom_of_bool_[v] >= 0) return atom_of_bool_[v];
    const int bound = (lit.side & 1) ? 1 - lit.bound : lit.bound;
    const auto [it, fresh] =
        atom_index_.try_emplace(atom_key(v, bound), static_cast<int>(atoms_.size()));
    if (fresh) {
        atoms_.push_back({v, bound});
        heap_.add(0.0);
    }
    return it->second;
}

void Engine::bump_atom(int atom) {
    heap_.raise(atom, atom_step_);
}

void Engine::bump_variable(int variable) {
    if (atom_of_bool_[variable] >= 0) bump_atom(atom_of_bool_[variable]);
}

void Engine::forget_atoms() {
    if (atoms_.size() <= kMostAtoms) return;
    // Keep Booleans and the more active half of the rest.
    std::vector<double> activities;
    for (std::size_t a = 0; a < atoms_.size(); ++a)
        activities.push_back(heap_.activity(static_cast<int>(a)));
    std::vector<double> sorted = activities;
    std::nth_element(sorted.begin(),
                     sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
    const double cut = sorted[sorted.size() / 2];
    const std::vector<Atom> old = std::move(atoms_);
    atoms_.clear();
    atom_index_.clear();
    heap_.clear();
    parked_.clear();
    for (std::size_t a = 0; a < old.size(); ++a) {
        const bool is_bool = atom_of_bool_[old[a].variable] >= 0;
        if (!is_bool && activities[a] <= cut) continue;
        const int id = static_cast<int>(atoms_.size());
        if (is_bool) {
            atom_of_bool_[old[a].variable] = id;
        } else {
            atom_index_.emplace(atom_key(old[a].variable, old[a].bound), id);
        }
        atoms_.push_back(old[a]);
        heap_.add(activities[a]);
    }
}

Lit Engine::pick_atom() {
    while (!heap_.empty()) {
        const int a = heap_.pop();
        const Atom atom = atoms_[a];
        const Lit yes{2 * atom.variable, atom.bound};
        if (is_true(yes) || is_false(yes)) {
            parked_.emplace_back(level(), a);
            continue;
        }
        parked_.emplace_back(level() + 1, a);
        bool value = false;  // an operation rather early than late
        if (has_phase_[atom.variable]) {
            value = phase_[atom.variable] >= atom.bound;
        } else if (atom_of_bool_[atom.variable] >= 0) {
            value = saved_[atom.variable] == 1;
        }
        return value ? yes : negated(yes);
    }
    return {};
}

Answer Engine::search(Brancher& brancher, const Limits& limits, bool by_activity, Lit first) {
    assert(sealed_ && level() == 0);
    const std::int64_t last = limits.conflicts < 0 ? -1 : conflicts_ + limits.conflicts;
    int polled = 0;
    while (!refuted_) {
        if (!propagate()) {
            ++conflicts_;
            if (!analyze()) return Answer::Refuted;
            continue;
        }
        if ((last >= 0 && conflicts_ >= last) || clauses_.size() > limits.max_clause_ints ||
            ((++polled & 127) == 0 && limits.stop && limits.stop())) {
            backtrack(0);
            return Answer::Limit;
        }
        Lit decision;
        if (level() == 0 && first.valid() && !is_true(first) && !is_false(first)) {
            decision = first;
        } else {
            if (by_activity) decision = pick_atom();
            if (!decision.valid()) decision = brancher.next(*this);
        }
        if (!decision.valid()) return Answer::Satisfied;
        assert(!is_true(decision) && !is_false(decision));
        ++decisions_;
        level_start_.push_back(static_cast<int>(trail_.size()));
        level_listed_.push_back(listed_.size());
        enqueue(decision, {});
    }
    return Answer::Refuted;
}

}  // namespace sched::search::lcg
