#pragma once
// Invented rooms with their orders and frames, drawn from a seed: mixed calendars and nights, odd
// breaks, unlike lamps, large frames, cabinets that compute and that type, pots that end, frames in
// every state. They are values as the reader gives them. Some have no plan, some no sound input:
// whoever uses them counts how many.

#include <string>

#include "model/room/order.hpp"

namespace random_scenario {

/// @param seed any number; the same room for the same seed on every machine.
model::Scenario make(std::uint64_t seed);

/// The day that its plans begin on, at midnight.
model::SimTime first_day();

}  // namespace random_scenario
