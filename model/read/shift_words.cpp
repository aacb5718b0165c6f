#include "model/read/shift_words.hpp"

#include <array>
#include <cctype>
#include <string>

namespace model::read {

namespace {

std::string_view without_blanks(std::string_view text) {
    while (!text.empty() && text.front() == ' ')
        text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ')
        text.remove_suffix(1);
    return text;
}

// "mon", "Monday" -> 0 .. 6; -1: no weekday.
int weekday_of(std::string_view word) {
    constexpr std::array<std::string_view, 7> names{"monday", "tuesday",  "wednesday", "thursday",
                                                    "friday", "saturday", "sunday"};
    std::string lower(word);
    for (char& c : lower)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (lower == names[i] || lower == names[i].substr(0, 3)) return static_cast<int>(i);
    }
    return -1;
}

bool add_days(std::string_view word, std::array<bool, 7>& days) {
    if (word == "daily") {
        days.fill(true);
        return true;
    }
    const std::size_t dash = word.find('-');
    const int first = weekday_of(word.substr(0, dash));
    const int last = dash == std::string_view::npos ? first : weekday_of(word.substr(dash + 1));
    if (first < 0 || last < 0) return false;
    for (int day = first;; day = (day + 1) % 7) {
        days[static_cast<std::size_t>(day)] = true;
        if (day == last) return true;
    }
}

}  // namespace

std::optional<Seconds> parse_clock_words(std::string_view text) {
    std::string word(without_blanks(text));
    for (char& c : word)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (!word.ends_with("am") && !word.ends_with("pm")) return parse_time_of_day(word);
    const Seconds half = hours(word.ends_with("pm") ? 12 : 0);
    word = without_blanks(std::string_view(word).substr(0, word.size() - 2));
    const bool whole = !word.empty() && word.find(':') == std::string::npos;
    const auto clock = parse_time_of_day(whole ? word + ":00" : word);
    if (!clock || *clock < hours(1) || *clock >= hours(13)) return std::nullopt;
    return *clock % hours(12) + half;
}

Reading<Shift> parse_shift(std::string_view text) {
    text = without_blanks(text);
    const std::size_t digit = text.find_first_of("0123456789");
    if (digit == 0 || digit == std::string_view::npos)
        return {std::nullopt, "lacks its weekdays or its hours"};
    const std::string_view hours_text = text.substr(digit);
    std::string_view days_text = without_blanks(text.substr(0, digit));
    Shift shift;
    while (true) {
        const std::size_t comma = days_text.find(',');
        const std::string_view word = without_blanks(days_text.substr(0, comma));
        if (!add_days(word, shift.weekdays)) {
            return {std::nullopt, "has no weekday where \"" + std::string(word.substr(0, 20)) +
                                      "\" stands (Mon, Tue, Wed, Thu, Fri, Sat, Sun, daily)"};
        }
        if (comma == std::string_view::npos) break;
        days_text.remove_prefix(comma + 1);
    }
    const std::size_t dash = hours_text.find('-');
    if (dash == std::string_view::npos) return {std::nullopt, "has no hours like 06:00-14:30"};
    if (hours_text.find(',') != std::string_view::npos) {
        return {std::nullopt,
                "has several hours: list them, each with its days, like [Mon-Fri 07:00-11:00, "
                "Mon-Fri 13:00-17:00]"};
    }
    const auto from = parse_clock_words(hours_text.substr(0, dash));
    const auto to = parse_clock_words(hours_text.substr(dash + 1));
    if (!from || !to) return {std::nullopt, "has no hours like 06:00-14:30"};
    if (*from == hours(24)) return {std::nullopt, "begins at 24:00, the end of a day"};
    if (*from == *to) return {std::nullopt, "begins and ends at the same time"};
    shift.from = *from;
    shift.to = *to < *from ? *to + hours(24) : *to;
    return {shift, {}};
}

Reading<Break> parse_break(std::string_view text) {
    text = without_blanks(text);
    const std::size_t at = text.find(" at ");
    const std::size_t between = text.find(" between ");
    const std::size_t cut = at != std::string_view::npos ? at : between;
    if (cut == std::string_view::npos) {
        return {std::nullopt, "does not say when (\"at\" or \"between … and …\")"};
    }
    const auto length = parse_duration(text.substr(0, cut));
    if (!length.value) return {std::nullopt, length.problem};
    if (*length.value <= Seconds{0}) return {std::nullopt, "has no length"};
    if (*length.value > hours(8)) return {std::nullopt, "is longer than 8 h"};
    Break pause;
    pause.length = *length.value;
    if (at != std::string_view::npos) {
        const auto start = parse_clock_words(without_blanks(text.substr(at + 4)));
        if (!start) return {std::nullopt, "has no time of day like 12:00 after \"at\""};
        pause.earliest = pause.latest = *start;
        return {pause, {}};
    }
    const std::string_view window = text.substr(between + 9);
    const std::size_t both = window.find(" and ");
    if (both == std::string_view::npos) return {std::nullopt, "has \"between\" without \"and\""};
    const auto from = parse_clock_words(without_blanks(window.substr(0, both)));
    const auto to = parse_clock_words(without_blanks(window.substr(both + 5)));
    if (!from || !to) return {std::nullopt, "has no two times of day like 09:00 and 10:00"};
    const Seconds end = *to < *from ? *to + hours(24) : *to;
    if (end - *from < pause.length) return {std::nullopt, "does not fit between its two times"};
    pause.earliest = *from;
    pause.latest = end - pause.length;
    return {pause, {}};
}

Reading<std::pair<SimTime, SimTime>> parse_window(std::string_view text) {
    const std::size_t to = text.find(" to ");
    if (to == std::string_view::npos) return {std::nullopt, "has no \"to\" between its two times"};
    const auto from = parse_date_time(without_blanks(text.substr(0, to)));
    if (!from) return {std::nullopt, "does not begin with a date and time like 2026-11-26 12:00"};
    const std::string_view rest = without_blanks(text.substr(to + 4));
    std::optional<SimTime> end = parse_date_time(rest);
    if (const auto clock = parse_clock_words(rest); !end && clock) {
        end = midnight(date_of(*from)) + *clock;
    }
    if (!end) return {std::nullopt, "does not end with a time like 13:30 or 2026-11-27 09:00"};
    if (*end <= *from) return {std::nullopt, "ends before it begins"};
    return {std::pair{*from, *end}, {}};
}

}  // namespace model::read
