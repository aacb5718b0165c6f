#pragma once
// The room's time: whole seconds inside, local date and time of day outside.
// There is no now(): a plan's times come from its input, never from the machine's clock.

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>

namespace model {

struct RoomClock {};  // a tag

using Seconds = std::chrono::duration<std::int64_t>;
/// Seconds since 1970-01-01 00:00 of the room's local civil time. A local day has 86,400 s:
/// daylight-saving jumps are outside the model (README, Limits).
using SimTime = std::chrono::time_point<RoomClock, Seconds>;

static_assert(!std::is_convertible_v<double, Seconds>);
static_assert(!std::is_convertible_v<std::chrono::duration<double>, Seconds>);

constexpr Seconds minutes(std::int64_t n) {
    return Seconds{n * 60};
}
constexpr Seconds hours(std::int64_t n) {
    return Seconds{n * 3600};
}

/// The one rounding from real seconds: up, so that nothing is promised too early. A value
/// within 1e-6 s of a whole second counts as that second. @pre 0 <= s < 2^53.
Seconds round_up(double seconds);

using LocalDate = std::chrono::year_month_day;

/// @returns midnight at the start of the local date.
SimTime midnight(LocalDate date);
LocalDate date_of(SimTime t);
/// @returns seconds after local midnight, 0 .. 86399.
Seconds time_of_day(SimTime t);
/// @returns 0 = Monday .. 6 = Sunday (ISO 8601 order).
int weekday_index(LocalDate date);

/// ISO 8601 local: "2026-11-26", "2026-11-26T14:05" ("2026-11-26 14:05" and ":SS" are read as
/// well).
std::optional<LocalDate> parse_date(std::string_view text);
std::optional<SimTime> parse_date_time(std::string_view text);
/// "06:00", "24:00" is the end of the day.
std::optional<Seconds> parse_time_of_day(std::string_view text);

std::string format_date(LocalDate date);    // 2026-11-26
std::string format_date_time(SimTime t);    // 2026-11-26T14:05[:SS when not 0]
std::string format_time_of_day(SimTime t);  // 14:05, seconds dropped
std::string format_duration(Seconds d);     // "2 h 30 min", "45 min", "30 s"

}  // namespace model
