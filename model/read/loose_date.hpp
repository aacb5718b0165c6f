#pragma once
// Dates as offices write them: without year, without time, by weekday. They are read from the day
// of the run on, so a file of "Tue 9:00" serves every week.

#include <optional>
#include <string>
#include <string_view>

#include "model/base/units.hpp"
#include "model/room/order.hpp"

namespace model::read {

/// What dates without year or time are read from.
struct DatesFrom {
    std::optional<SimTime> day;  // midnight of the day of the run; none: nobody knows it
    const Room* room = nullptr;  // hours of work, for a day without time; none: the whole day
};

/// Of a run that begins then.
DatesFrom dates_of(const Scenario& scenario, SimTime start);

/// "9:00", "Tue 9:00", "1 Dec 14:00", "Dec 1", "1.12.", "today", "tomorrow 11:00", "2:30 pm", or
/// whole as "2026-12-01 14:00". A time alone is of the day of the run; a weekday the first from it
/// on; a date without year the nearest. A day without time: `end` of its work (press hours where
/// the room has them, else the shifts), or its beginning.
Reading<SimTime> parse_loose_date_time(std::string_view text, const DatesFrom& from, bool end);

}  // namespace model::read
