#pragma once
// Days of the room: on which somebody works, and which one is meant where nobody has said it.

#include <optional>
#include <vector>

#include "model/room/order.hpp"
#include "model/room/room.hpp"

namespace model {

/// Whether somebody's shift begins on that date (a night shift that ends on it does not count).
bool works_on(const Room& room, LocalDate date);

/// @returns midnight of the first day whose first shift has not begun at `now`: today, or a day
/// after it; the day after `now` where nobody works within a year.
SimTime next_working_day(const Room& room, SimTime now);

/// @returns midnight of the first due date; nullopt without orders.
std::optional<SimTime> first_due_day(const std::vector<Order>& orders);

}  // namespace model
