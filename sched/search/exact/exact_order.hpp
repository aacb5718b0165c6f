#pragma once
// Resources of the exact model: time-tables, and order literals for pairs that can never run
// together.
//
// Sources: A. Schutt et al. 2013 (see lcg_cumulative.hpp); D. Grimes & E. Hebrard, "Models and
// strategies for variants of the job shop scheduling problem", INFORMS J. on Computing 27 (2015):
// order literals alone, without heavy propagation, solve disjunctive problems well once the solver
// learns.

#include <vector>

#include "sched/search/exact/lcg/lcg_cumulative.hpp"

namespace sched::search {

struct PoolUse {
    lcg::Use use;
    int operation = 0;
    bool may_be_empty = false;
};

struct PoolUses {
    int capacity = 1;
    std::vector<PoolUse> uses;
};

/// `literal` true: operation a is before b; false: b before a.
struct OrderPair {
    int a = 0;
    int b = 0;
    lcg::Lit literal;
};

/// @returns the pairs that got an order literal.
std::vector<OrderPair> post_pools(lcg::Engine& engine, const std::vector<PoolUses>& pools);

}  // namespace sched::search
