#include "sched/journal/entry.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "model/room/steps.hpp"

namespace sched::journal {

namespace {

constexpr std::array all_marks{
    MarkRow{Mark::Start, "start", About::Screen, "begun"},
    MarkRow{Mark::Done, "done", About::Screen, "done"},
    MarkRow{Mark::Dry, "dry", About::Screen, "felt dry"},
    MarkRow{Mark::Remake, "remake", About::Screen, "is to be made again"},
    MarkRow{Mark::Down, "down", About::Station, "out of work"},
    MarkRow{Mark::Up, "up", About::Station, "works again"},
    MarkRow{Mark::Absent, "absent", About::Person, "not there"},
    MarkRow{Mark::Present, "present", About::Person, "there"},
    MarkRow{Mark::Film, "film", About::Film, "film there"},
    MarkRow{Mark::Returned, "returned", About::Returned, "back from the press"},
    MarkRow{Mark::Opened, "opened", About::Pot, "opened"},
    MarkRow{Mark::Empty, "empty", About::Pot, "empty"},
    MarkRow{Mark::Ready, "ready", About::Promise, "all screens ready"},
    MarkRow{Mark::Longer, "longer", About::Hours, "stays an hour longer"},
    MarkRow{Mark::First, "first", About::Order, "goes first"},
    MarkRow{Mark::Another, "another", About::Order, "is ordered once more"},
    MarkRow{Mark::Undo, "undo", About::Entry, "taken back"},
    MarkRow{Mark::Posted, "posted", About::Plan, "posted"},
};

}  // namespace

std::span<const MarkRow> mark_rows() {
    return all_marks;
}

const MarkRow& row_of(Mark mark) {
    return all_marks.at(static_cast<std::size_t>(mark));
}

std::optional<Mark> mark_of(std::string_view word) {
    const auto found = std::find_if(all_marks.begin(), all_marks.end(),
                                    [&](const MarkRow& r) { return r.word == word; });
    if (found == all_marks.end()) return std::nullopt;
    return found->mark;
}

std::string stamp(SimTime t) {
    std::string text = model::format_date_time(t);
    constexpr std::size_t to_the_minute = 16;  // 2026-11-26T09:12
    if (text.size() == to_the_minute) text += ":00";
    return text;
}

std::string step_text(const Entry& entry) {
    if (entry.round <= 1 || entry.step.empty()) return entry.step;
    return entry.step + " " + std::to_string(entry.round);
}

bool read_step_text(std::string_view text, std::string& step, int& round) {
    round = 1;
    const auto space = text.rfind(' ');
    if (space != std::string_view::npos) {
        const std::string_view number = text.substr(space + 1);
        int n = 0;
        for (const char c : number) {
            if (c < '0' || c > '9' || n > 20) return false;
            n = 10 * n + (c - '0');
        }
        text = text.substr(0, space);
        const bool faces = text == model::row_of(model::Step::FaceCoat).key ||
                           text == model::row_of(model::Step::DryFace).key ||
                           text == model::row_of(model::Step::TakeOut).key;
        if (number.empty() || n < 2 || n > 20 || !faces) return false;
        round = n;
    }
    step = std::string(text);
    return true;
}

std::string words_of(const Entry& e, std::optional<model::LocalDate> day) {
    std::string out;
    if (e.mark == Mark::Undo) {
        out = fmt::format("entry {} taken back", e.undoes);
    } else if (e.mark == Mark::Posted) {
        out = "plan posted";
    } else {
        out = e.what;
        if (!e.step.empty() && e.mark != Mark::Remake) out += " " + step_text(e);
        out += " " + std::string(row_of(e.mark).words);
        if (e.mark == Mark::Remake && !e.step.empty()) out += " from " + step_text(e);
    }
    const bool same_day = day && model::date_of(e.time) == *day;
    out += " " + (same_day ? model::format_time_of_day(e.time) : model::format_date_time(e.time));
    std::string more;
    const auto add = [&](const std::string& words) {
        if (!words.empty()) more += (more.empty() ? "" : ", ") + words;
    };
    if (e.mark != Mark::Posted) add(e.reason);
    add(e.station.empty() ? "" : "in " + e.station);
    add(e.person.empty() ? "" : "with " + e.person);
    add(e.by.empty() ? "" : "by " + e.by);
    add(e.device.empty() ? "" : "on " + e.device);
    return more.empty() ? out : out + " (" + more + ")";
}

std::vector<Entry> in_force(const std::vector<Entry>& entries) {
    // An undo stands behind what it takes back: from the last to the first each is settled already.
    std::set<std::int64_t> gone;
    for (auto e = entries.rbegin(); e != entries.rend(); ++e) {
        if (e->mark == Mark::Undo && gone.count(e->id) == 0) gone.insert(e->undoes);
    }
    std::vector<Entry> out;
    for (const Entry& e : entries) {
        if (e.mark != Mark::Undo && gone.count(e.id) == 0) out.push_back(e);
    }
    return out;
}

}  // namespace sched::journal
