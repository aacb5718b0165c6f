// The plan for other programs: CSV rows in order of time, and an iCalendar file (RFC 5545) with one
// event for each person of an operation. An event's UID is a digest of what it is, not of when, so
// that it keeps it when the plan is made again; equal ones are numbered in order of time.

#include "sched/report/plan/exchange.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "sched/report/document/fingerprint.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

std::vector<const OperationLine*> by_start(const PlanDocument& document) {
    std::vector<const OperationLine*> list;
    for (const OperationLine& op : document.operations)
        list.push_back(&op);
    std::stable_sort(list.begin(), list.end(),
                     [](auto* a, auto* b) { return a->start < b->start; });
    return list;
}

std::string csv_row(const std::vector<std::string>& cells) {
    std::string out;
    for (std::size_t i = 0; i < cells.size(); ++i) {
        if (i > 0) out += ',';
        out += csv_cell(cells[i]);
    }
    return out + "\r\n";
}

std::string all_names(const std::vector<std::string>& names) {
    std::string out;
    for (const std::string& name : names)
        out += (out.empty() ? "" : "; ") + name;
    return out;
}

/// TEXT value of RFC 5545, 3.3.11.
std::string ics_text(std::string_view text) {
    std::string out;
    for (const char c : text) {
        if (c == '\n') {
            out += "\\n";
        } else if (c == '\\' || c == ';' || c == ',') {
            out += '\\';
            out += c;
        } else if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7F) {
            out += c;
        }
    }
    return out;
}

/// Folds at 75 octets (RFC 5545, 3.1), never inside a UTF-8 sequence.
std::string ics_line(const std::string& text) {
    std::string out;
    std::size_t room = 75;
    for (std::size_t at = 0; at < text.size();) {
        std::size_t length = 1;
        while (at + length < text.size() &&
               (static_cast<unsigned char>(text[at + length]) & 0xC0u) == 0x80u)
            ++length;
        if (length > room) {
            out += "\r\n ";
            room = 74;
        }
        out += text.substr(at, length);
        room -= std::min(room, length);
        at += length;
    }
    return out + "\r\n";
}

std::string ics_time(SimTime t) {
    std::string date = model::format_date(model::date_of(t));
    date.erase(std::remove(date.begin(), date.end(), '-'), date.end());
    const auto s = model::time_of_day(t).count();
    return fmt::format("{}T{:02}{:02}{:02}", date, s / 3600, s / 60 % 60, s % 60);
}

}  // namespace

std::string csv_cell(std::string text) {
    if (!text.empty() &&
        std::string_view("=+-@\t\r").find(text.front()) != std::string_view::npos) {
        text.insert(text.begin(), '\'');
    }
    if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"') out += '"';
        out += c;
    }
    return out + "\"";
}

std::string to_csv(const PlanDocument& document) {
    std::string out = csv_row({"start", "work_end", "end", "holding_min", "screen", "order", "step",
                               "words", "place", "places", "people", "batch"});
    for (const OperationLine* op : by_start(document)) {
        const double holding = static_cast<double>((op->end - op->work_end).count()) / 60.0;
        out += csv_row({model::format_date_time(op->start), model::format_date_time(op->work_end),
                        model::format_date_time(op->end),
                        fmt::format("{:g}", std::round(holding * 100) / 100), op->screen, op->order,
                        op->step, op->words, op->place,
                        op->place.empty() ? "" : std::to_string(op->places), all_names(op->people),
                        op->batch ? std::to_string(*op->batch) : ""});
    }
    return out;
}

std::string to_calendar(const PlanDocument& document, std::string_view person) {
    std::string out = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\n";
    out += ics_line("PRODID:-//Coatroom//" + ics_text(document.program) + "//EN");
    out += "CALSCALE:GREGORIAN\r\n";
    const std::string stamp = ics_time(document.run.from) + "Z";
    std::map<std::string, int> known;  // loading and taking out are the same step of a screen
    for (const OperationLine* op : by_start(document)) {
        for (const std::string& name : op->people) {
            if (!person.empty() && name != person) continue;
            const std::string key =
                fmt::format("{}\n{}\n{}\n{}\n{}\n{}\n{}", document.room,
                            model::format_date(model::date_of(document.run.from)), op->screen,
                            op->step, op->round, op->screen.empty() ? op->words : "", name);
            const int turn = known[key]++;
            const std::string unique = turn == 0 ? key : key + "\n" + std::to_string(turn);
            out += "BEGIN:VEVENT\r\n";
            out += ics_line("UID:" + sha256_hex(unique).substr(0, 32) + "@coatroom.invalid");
            out += ics_line("DTSTAMP:" + stamp);
            out += ics_line("DTSTART:" + ics_time(op->start));
            out += ics_line("DTEND:" + ics_time(op->people_until.value_or(op->end)));
            out += ics_line("SUMMARY:" + ics_text(op->words));
            if (!op->place.empty()) out += ics_line("LOCATION:" + ics_text(op->place));
            out += ics_line("CATEGORIES:" + ics_text(name));
            std::string notes;
            for (const CautionLine& caution : document.cautions) {
                const auto& keys = op->cautions;
                if (std::find(keys.begin(), keys.end(), caution.key) == keys.end()) continue;
                notes += caution.title + ": " + caution.words + "\n";
            }
            if (!notes.empty()) out += ics_line("DESCRIPTION:" + ics_text(notes + deference()));
            out += "END:VEVENT\r\n";
        }
    }
    return out + "END:VCALENDAR\r\n";
}

}  // namespace sched::report
