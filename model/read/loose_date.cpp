// How it works: the text is cut into words at blanks and commas; each word is a time of day, a
// weekday, a day, a month or a year, whichever it looks like; what they say together is then put on
// the calendar, nearest to the day of the run.

#include "model/read/loose_date.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <string>
#include <vector>

#include "model/read/shift_words.hpp"

namespace model::read {

namespace {

struct Said {
    std::optional<Seconds> clock;
    std::optional<int> weekday;  // Monday 0
    std::optional<unsigned> day;
    std::optional<unsigned> month;
    std::optional<int> year;
    std::optional<int> days_on;  // today 0, tomorrow 1
};

std::vector<std::string> words_of_text(std::string_view text) {
    std::vector<std::string> words(1);
    for (const char c : text) {
        if (c == ' ' || c == ',') {
            if (!words.back().empty()) words.emplace_back();
        } else {
            words.back() += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        }
    }
    if (words.back().empty()) words.pop_back();
    return words;
}

// Index of the name that the word is, or is the beginning of with three letters at least.
template <std::size_t N>
std::optional<int> named(const std::string& word, const std::array<std::string_view, N>& names) {
    if (word.size() < 3) return std::nullopt;
    const std::string_view bare =
        word.back() == '.' ? std::string_view(word).substr(0, word.size() - 1) : word;
    if (bare.size() < 3) return std::nullopt;
    for (std::size_t i = 0; i < N; ++i) {
        if (names[i].substr(0, bare.size()) == bare) return static_cast<int>(i);
    }
    return std::nullopt;
}

constexpr std::array<std::string_view, 7> day_names{"monday", "tuesday",  "wednesday", "thursday",
                                                    "friday", "saturday", "sunday"};
constexpr std::array<std::string_view, 12> month_names{
    "january", "february", "march",     "april",   "may",      "june",
    "july",    "august",   "september", "october", "november", "december"};

std::optional<int> all_digits(std::string_view word) {
    if (word.empty() || word.size() > 4) return std::nullopt;
    int n = 0;
    for (const char c : word) {
        if (c < '0' || c > '9') return std::nullopt;
        n = n * 10 + (c - '0');
    }
    return n;
}

template <class T, class V>
bool say(std::optional<T>& member, V value) {
    if (member) return false;
    member = static_cast<T>(value);
    return true;
}

// "1.12." or "1.12.2026": day, month, year.
bool dotted(const std::string& word, Said& said) {
    std::array<std::string, 3> parts;
    std::size_t n = 0;
    for (const char c : word) {
        if (c == '.') {
            if (++n > 2) return false;
        } else {
            parts[n] += c;
        }
    }
    const auto day = all_digits(parts[0]);
    const auto month = all_digits(parts[1]);
    if (n == 0 || !day || !month || !say(said.day, *day) || !say(said.month, *month)) return false;
    if (parts[2].empty()) return n == 2;
    const auto year = all_digits(parts[2]);
    return year && parts[2].size() == 4 && say(said.year, *year);
}

bool take(const std::string& word, Said& said) {
    if (word == "at") return true;
    if (word == "today") return say(said.days_on, 0);
    if (word == "tomorrow") return say(said.days_on, 1);
    if (word == "noon") return say(said.clock, hours(12));
    if (const auto month = named(word, month_names)) return say(said.month, *month + 1);
    if (const auto weekday = named(word, day_names)) return say(said.weekday, *weekday);
    if (const auto date = parse_date(word)) {
        return say(said.year, static_cast<int>(date->year())) &&
               say(said.month, static_cast<unsigned>(date->month())) &&
               say(said.day, static_cast<unsigned>(date->day()));
    }
    if (word.find(':') != std::string::npos || word.ends_with("am") || word.ends_with("pm")) {
        const auto clock = parse_clock_words(word);
        return clock && say(said.clock, *clock);
    }
    if (word.find('.') != std::string::npos && word.find('.') + 1 < word.size())
        return dotted(word, said);
    std::string_view bare = word;
    for (const std::string_view tail : {".", "st", "nd", "rd", "th"}) {
        if (bare.ends_with(tail)) {
            bare.remove_suffix(tail.size());
            break;
        }
    }
    const auto n = all_digits(bare);
    if (!n) return false;
    return bare.size() == 4 ? say(said.year, *n) : say(said.day, *n);
}

// "2 pm" is one word.
std::vector<std::string> with_half_days(std::vector<std::string> words) {
    for (std::size_t i = 1; i < words.size(); ++i) {
        if (words[i] != "am" && words[i] != "pm") continue;
        words[i - 1] += words[i];
        words.erase(words.begin() + static_cast<std::ptrdiff_t>(i));
    }
    return words;
}

Reading<LocalDate> date_said(const Said& said, SimTime today) {
    using std::chrono::days;
    const LocalDate now = date_of(today);
    if (said.day.has_value() != said.month.has_value())
        return {std::nullopt, "names a day without its month, or a month without its day"};
    if (said.day) {
        const int year = said.year.value_or(static_cast<int>(now.year()));
        std::optional<LocalDate> best;
        for (const int y : {year, year - 1, year + 1}) {
            if (said.year && y != year) continue;
            const LocalDate date{std::chrono::year{y}, std::chrono::month{*said.month},
                                 std::chrono::day{*said.day}};
            if (!date.ok()) continue;
            const auto far = [&](LocalDate d) { return std::chrono::abs(midnight(d) - today); };
            if (!best || far(date) < far(*best)) best = date;
        }
        if (!best) return {std::nullopt, "is not a date of the calendar"};
        if (said.weekday && weekday_index(*best) != *said.weekday) {
            return {
                std::nullopt,
                "is a " +
                    std::string(
                        day_names[static_cast<std::size_t>(weekday_index(*best))].substr(0, 3)) +
                    " by the calendar (" + format_date(*best) + ")"};
        }
        return {*best, {}};
    }
    if (said.weekday) {
        const int ahead = (*said.weekday - weekday_index(now) + 7) % 7;
        return {date_of(today + days{ahead}), {}};
    }
    return {date_of(today + days{said.days_on.value_or(0)}), {}};
}

// Beginning or end of what is worked on that day; of the day itself where nobody works.
SimTime work_of(LocalDate date, const Room* room, bool end) {
    std::optional<Seconds> at;
    const auto weekday = static_cast<std::size_t>(weekday_index(date));
    const auto see = [&](const Shift& s) {
        if (!s.weekdays[weekday]) return;
        const Seconds t = end ? s.to : s.from;
        at = !at ? t : end ? std::max(*at, t) : std::min(*at, t);
    };
    if (room != nullptr) {
        for (const Shift& s : room->promise.press)
            see(s);
        for (const Person& p : room->people) {
            if (!room->promise.press.empty()) break;
            for (const Shift& s : p.shifts)
                see(s);
        }
    }
    return midnight(date) + at.value_or(hours(end ? 24 : 0));
}

}  // namespace

DatesFrom dates_of(const Scenario& scenario, SimTime start) {
    return {midnight(date_of(start)), &scenario.room};
}

Reading<SimTime> parse_loose_date_time(std::string_view text, const DatesFrom& from, bool end) {
    if (const auto whole = parse_date_time(text)) return {*whole, {}};
    Said said;
    for (const std::string& word : with_half_days(words_of_text(text))) {
        if (!take(word, said)) return {std::nullopt, "is no date and time"};
    }
    const bool whole_date = said.year && said.month && said.day;
    if (!from.day && !whole_date)
        return {std::nullopt, "lacks its year, month or day, and the day of the run is not known"};
    if (said.days_on && (said.weekday || said.day || said.month))
        return {std::nullopt, "names its day twice"};
    if (said.year && !said.day) return {std::nullopt, "is no date and time"};
    const auto date = date_said(said, from.day.value_or(SimTime{}));
    if (!date.value) return {std::nullopt, date.problem};
    if (said.clock) return {midnight(*date.value) + *said.clock, {}};
    return {work_of(*date.value, from.room, end), {}};
}

}  // namespace model::read
