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

/// When the run of that day begins: at midnight; or, where a night shift of the day before is still
/// there then, with the first shift that begins on the day, unless an order is due on the day
/// before that shift: only the end of the night can make it.
SimTime run_begin(const Room& room, const std::vector<Order>& orders, LocalDate date);

/// @returns midnight of the first due date; nullopt without orders.
std::optional<SimTime> first_due_day(const std::vector<Order>& orders);

}  // namespace model
