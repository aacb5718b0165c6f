#pragma once
// Whether a room can keep up at all with the orders that come in: the work that they bring, against
// the hours of those who alone can do it. Above 1 the queue grows without end, whatever the rule.

#include <string>

#include "sched/chance/arrivals.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::study {

struct OfferedLoad {
    /// Work of a mean week over what can be done in a week, of the places or people that are asked
    /// most; a lower bound: what one place of a full batch or slot takes, nothing waits.
    double share = 0.0;
    std::string who;            // their names
    double orders_a_day = 0.0;  // that come in on a mean working day
    /// Orders a working day that fill them.
    double most_orders_a_day() const { return share > 0.0 ? orders_a_day / share : 0.0; }
};

/// @param room its problem covers a week from a Monday at least; kinds of arrivals are its orders.
/// @param working_days of a week; 0: those on which orders come in.
OfferedLoad offered_load(const compile::RoomProblem& room, const ArrivalProcess& arrivals,
                         int working_days = 0);

}  // namespace sched::study
