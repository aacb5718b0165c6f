#pragma once
// Which stations stand side by side: nobody walks between them.

#include <cstddef>
#include <string_view>
#include <vector>

#include "model/room/room.hpp"

namespace model {

/// Station::beside that says: next to nothing.
inline constexpr std::string_view stands_alone = "none";

/// Per station the first of those at the same spot: itself where it stands alone. `beside` joins
/// two, and what joins joins on. A rack that says nothing stands beside the first drying cabinet in
/// its part of the premises (common practice, no source: dry screens go from one into the other).
std::vector<std::size_t> spots_of(const Room& room);

}  // namespace model
