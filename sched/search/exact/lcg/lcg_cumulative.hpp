#pragma once
// The cumulative resource for the exact solver: time-table propagation with pointwise explanations.
//
// Sources: A. Schutt, T. Feydy, P. J. Stuckey, M. Wallace, "Explaining the cumulative propagator",
// Constraints 16 (2011), and "Solving RCPSP/max by lazy clause generation", J. of Scheduling 16
// (2013); N. Beldiceanu & M. Carlsson, "A new multi-resource cumulatives constraint with negative
// heights", CP 2002 (the sweep).

#include <vector>

#include "sched/search/exact/lcg/lcg_engine.hpp"

namespace sched::search::lcg {

/// A use of the resource: `demand` units over [start, end) if `present` is true (invalid: always).
struct Use {
    Term start;
    Term end;
    int demand = 1;
    Lit present;
    int length = 0;  // end - start is at least this, always
};

/// All sides that the uses depend on, each once.
std::vector<Side> sides_of(const std::vector<Use>& uses);
/// The same with time running backwards.
std::vector<Use> backward(std::vector<Use> uses);

/// Posts both directions of time-table propagation. Uses that may be empty are allowed.
void post_cumulative(Engine& engine, const std::vector<Use>& uses, int capacity);

}  // namespace sched::search::lcg
