#pragma once
// Literals of the exact solver: statements "variable >= bound" over integer variables with bounds
// only. Every variable is seen from two sides (itself and its negative), so that lower and upper
// bounds, and a schedule and its mirror image in time, are one case. The layer below
// lcg_engine.hpp.
//
// Source: O. Ohrimenko, P. J. Stuckey, M. Codish, "Propagation via lazy clause generation",
// Constraints 14 (2009): bound literals [x <= v] that come into being when a reason needs them.

#include <cstdint>

namespace sched::search::lcg {

/// 2 * variable: the variable itself; 2 * variable + 1: its negative.
using Side = int;

constexpr Side flipped(Side side) {
    return side ^ 1;
}
constexpr int variable_of(Side side) {
    return side >> 1;
}

/// The statement value(side) >= bound.
struct Lit {
    Side side = -1;
    int bound = 0;
    friend constexpr bool operator==(Lit, Lit) = default;
    constexpr bool valid() const { return side >= 0; }
};

/// not (x >= b)  =  -x >= 1 - b
constexpr Lit negated(Lit lit) {
    return {flipped(lit.side), 1 - lit.bound};
}

/// value(side) + offset. Start and end of an operation of fixed length are two terms of one
/// variable.
struct Term {
    Side side = -1;
    int offset = 0;
    friend constexpr bool operator==(Term, Term) = default;
};

constexpr Term shifted(Term t, int by) {
    return {t.side, t.offset + by};
}
/// The same instant with time running backwards.
constexpr Term mirrored(Term t) {
    return {flipped(t.side), -t.offset};
}
constexpr Lit at_least(Term t, int value) {
    return {t.side, value - t.offset};
}
constexpr Lit at_most(Term t, int value) {
    return {flipped(t.side), t.offset - value};
}

}  // namespace sched::search::lcg
