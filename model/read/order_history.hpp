#pragma once
// Orders of many days as they were, for a study of the room: a CSV file with the columns of
// orders.csv, held against the room like it.

#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/room/order.hpp"

namespace model {

/// Orders by the date on which they are due, earliest first; no day without an order. Kept
/// stencils are made afresh: the frame store of today does not hold them.
/// @param scenario its room has what the orders name.  @returns nullopt after errors.
std::optional<std::vector<std::vector<Order>>> read_order_history(const std::string& path,
                                                                  const Scenario& scenario,
                                                                  Diagnostics& diagnostics);

}  // namespace model
