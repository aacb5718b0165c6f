#pragma once
// Working hours as people write them: "Mon-Fri 06:00-14:30", "30 min at 12:00",
// "15 min between 09:00 and 10:00", "2026-11-26 12:00 to 13:30".

#include <optional>
#include <string_view>
#include <utility>

#include "model/base/units.hpp"
#include "model/room/room.hpp"

namespace model::read {

/// "06:00", "6:00", "6:00 AM", "2:30pm", "2 pm"; letters may be large or small.
std::optional<Seconds> parse_clock_words(std::string_view text);
/// "Mon-Fri 06:00-14:30", "Sat 07:00-12:00", "Mon,Wed,Fri 08:00-12:00", "daily 22:00-06:00" (an end
/// at or before the start is on the next day).
Reading<Shift> parse_shift(std::string_view text);
/// "30 min at 12:00" fixed; "15 min between 09:00 and 10:00" lies anywhere within.
Reading<Break> parse_break(std::string_view text);
/// "2026-11-26 12:00 to 13:30" or "... to 2026-11-27 09:00".
Reading<std::pair<SimTime, SimTime>> parse_window(std::string_view text);

}  // namespace model::read
