// How it works: parsers take fixed counts of digits and refuse what is left over; dates are
// calendar dates of the standard library, instants plain seconds.

#include "model/base/time.hpp"

#include <array>
#include <cassert>
#include <charconv>
#include <cmath>
#include <cstdio>

namespace model {

namespace {

// Reads exactly `width` digits; advances `at`.
std::optional<int> digits(std::string_view text, std::size_t& at, std::size_t width) {
    if (at + width > text.size()) return std::nullopt;
    int value = 0;
    for (std::size_t i = at; i < at + width; ++i) {
        if (text[i] < '0' || text[i] > '9') return std::nullopt;
        value = value * 10 + (text[i] - '0');
    }
    at += width;
    return value;
}

bool literal(std::string_view text, std::size_t& at, char c) {
    if (at >= text.size() || text[at] != c) return false;
    ++at;
    return true;
}

std::optional<LocalDate> date_at(std::string_view text, std::size_t& at) {
    const auto y = digits(text, at, 4);
    if (!y || !literal(text, at, '-')) return std::nullopt;
    const auto m = digits(text, at, 2);
    if (!m || !literal(text, at, '-')) return std::nullopt;
    const auto d = digits(text, at, 2);
    if (!d) return std::nullopt;
    const LocalDate date{std::chrono::year{*y}, std::chrono::month{static_cast<unsigned>(*m)},
                         std::chrono::day{static_cast<unsigned>(*d)}};
    if (!date.ok()) return std::nullopt;
    return date;
}

// "09:00", or "9:00" as people write it.
std::optional<Seconds> clock_at(std::string_view text, std::size_t& at) {
    const bool short_hour = text.size() > at + 1 && text[at + 1] == ':';
    const auto h = digits(text, at, short_hour ? 1 : 2);
    if (!h || !literal(text, at, ':')) return std::nullopt;
    const auto m = digits(text, at, 2);
    if (!m) return std::nullopt;
    int s = 0;
    if (at < text.size() && text[at] == ':') {
        ++at;
        const auto sec = digits(text, at, 2);
        if (!sec) return std::nullopt;
        s = *sec;
    }
    if (*m > 59 || s > 59 || *h > 24 || (*h == 24 && (*m != 0 || s != 0))) return std::nullopt;
    return Seconds{*h * 3600 + *m * 60 + s};
}

}  // namespace

Seconds round_up(double seconds) {
    assert(seconds >= 0 && seconds < 9.0e15);
    return Seconds{static_cast<std::int64_t>(std::ceil(seconds - 1e-6))};
}

SimTime midnight(LocalDate date) {
    const auto days = std::chrono::local_days{date}.time_since_epoch();
    return SimTime{Seconds{days}};
}

LocalDate date_of(SimTime t) {
    const auto days = std::chrono::floor<std::chrono::days>(t.time_since_epoch());
    return LocalDate{std::chrono::local_days{days}};
}

Seconds time_of_day(SimTime t) {
    const auto since = t.time_since_epoch();
    return since - Seconds{std::chrono::floor<std::chrono::days>(since)};
}

int weekday_index(LocalDate date) {
    const std::chrono::weekday day{std::chrono::local_days{date}};
    return static_cast<int>(day.iso_encoding()) - 1;
}

std::optional<LocalDate> parse_date(std::string_view text) {
    std::size_t at = 0;
    const auto date = date_at(text, at);
    if (!date || at != text.size()) return std::nullopt;
    return date;
}

std::optional<SimTime> parse_date_time(std::string_view text) {
    std::size_t at = 0;
    const auto date = date_at(text, at);
    if (!date || at >= text.size() || (text[at] != 'T' && text[at] != ' ')) return std::nullopt;
    ++at;
    const auto clock = clock_at(text, at);
    if (!clock || at != text.size()) return std::nullopt;
    return midnight(*date) + *clock;
}

std::optional<Seconds> parse_time_of_day(std::string_view text) {
    std::size_t at = 0;
    const auto clock = clock_at(text, at);
    if (!clock || at != text.size()) return std::nullopt;
    return clock;
}

std::string format_date(LocalDate date) {
    std::array<char, 32> buffer{};
    std::snprintf(buffer.data(), buffer.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                  static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
    return buffer.data();
}

std::string format_time_of_day(SimTime t) {
    const auto s = time_of_day(t).count();
    std::array<char, 32> buffer{};
    std::snprintf(buffer.data(), buffer.size(), "%02d:%02d", static_cast<int>(s / 3600),
                  static_cast<int>(s / 60 % 60));
    return buffer.data();
}

std::string format_date_time(SimTime t) {
    std::string out = format_date(date_of(t)) + "T" + format_time_of_day(t);
    const auto s = static_cast<int>(time_of_day(t).count() % 60);
    if (s != 0) {
        std::array<char, 16> buffer{};
        std::snprintf(buffer.data(), buffer.size(), ":%02d", s);
        out += buffer.data();
    }
    return out;
}

std::string format_duration(Seconds d) {
    const bool negative = d.count() < 0;
    const std::int64_t s = negative ? -d.count() : d.count();
    const std::int64_t h = s / 3600;
    const std::int64_t m = s / 60 % 60;
    const std::int64_t rest = s % 60;
    std::string out = negative ? "-" : "";
    if (h > 0) out += std::to_string(h) + " h";
    if (m > 0) out += (h > 0 ? " " : "") + std::to_string(m) + " min";
    if (rest > 0 && h == 0) out += (m > 0 ? " " : "") + std::to_string(rest) + " s";
    if (h == 0 && m == 0 && rest == 0) out += "0 min";
    return out;
}

}  // namespace model
