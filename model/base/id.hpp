#pragma once
// Typed indices: an Id<Order> cannot be handed in where an Id<Job> belongs.

#include <compare>
#include <cstdint>

namespace model {

/// Index of an element of the container that owns things of kind Tag, counted from 0.
/// `none()` marks "not set" inside flat tables only; interfaces use std::optional.
template <class Tag>
struct Id {
    std::int32_t value = -1;

    constexpr Id() = default;
    constexpr explicit Id(std::int32_t index) : value(index) {}
    constexpr explicit Id(std::size_t index) : value(static_cast<std::int32_t>(index)) {}

    static constexpr Id none() { return Id{}; }
    constexpr bool valid() const { return value >= 0; }
    constexpr std::size_t index() const { return static_cast<std::size_t>(value); }
    friend constexpr auto operator<=>(Id, Id) = default;
};

}  // namespace model
