#pragma once
// The one cast from the signed numbers that tables hold (-1: none) to what containers count with.

#include <concepts>
#include <cstddef>

namespace sched {

/// @pre i >= 0: "none" is asked for before, never used as a place.
template <std::signed_integral I>
constexpr std::size_t ix(I i) {
    return static_cast<std::size_t>(i);
}

}  // namespace sched
