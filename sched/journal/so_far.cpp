// How it works: the entries that count are put in the order in which things happened (a device
// without network sends late), and go one by one into the screens, stations and people that they
// are about. Whatever does not fit is noted as a contradiction; the mark entered last is believed.

#include "sched/journal/so_far.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "model/room/steps.hpp"

namespace sched::journal {

namespace {

bool dries_by_itself(const std::string& key) {
    for (const model::StepRow& row : model::step_rows()) {
        if (row.key == key) return model::dries_alone(row.step);
    }
    return false;
}

// Comes several times on a screen's way, and nobody counts it.
bool is_carrying(const std::string& key) {
    return key == model::row_of(model::Step::TakeOut).key;
}

std::string who(const Entry& e) {
    return !e.person.empty() ? e.person : !e.by.empty() ? e.by : e.device;
}

// By what was said of both: who does it, else who marked it.
bool two_people(const Entry& a, const Entry& b) {
    if (!a.person.empty() && !b.person.empty()) return a.person != b.person;
    return !a.by.empty() && !b.by.empty() && a.by != b.by;
}

std::string clock_of(const Entry& e) {
    const std::string name = who(e);
    return model::format_time_of_day(e.time) + (name.empty() ? "" : " by " + name) + " (entry " +
           std::to_string(e.id) + ")";
}

class Folder {
public:
    Folder(SimTime from, std::optional<SimTime> until) : from_(from), until_(until) {}

    void take(const Entry& e) {
        const bool ahead = until_ && e.time > *until_;
        switch (row_of(e.mark).about) {
            case About::Screen:
                if (e.time >= from_ && !ahead) screen_mark(e);
                break;
            case About::Station:
                away(e, stations_, e.mark == Mark::Down);
                break;
            case About::Person:
                if (e.time >= from_) away(e, people_, e.mark == Mark::Absent);
                break;
            case About::Film:
            case About::Returned:
            case About::Pot:
                if (e.time >= from_) thing(e);
                break;
            case About::Promise:
            case About::Hours:
            case About::Order:
            case About::Entry:
            case About::Plan:
                break;
        }
    }

    SoFar result(const std::vector<Entry>& entries) {
        SoFar out;
        for (auto& [tag, screen] : screens_)
            out.screens.push_back(std::move(screen.so_far));
        for (auto* list : {&stations_, &people_}) {
            auto& all = list == &stations_ ? out.stations : out.people;
            for (auto& [name, times] : *list) {
                for (AwaySoFar& one : times) {
                    if (!one.until || *one.until > until_.value_or(from_)) all.push_back(one);
                }
            }
        }
        for (auto& [key, one] : things_)
            out.things.push_back(one);
        settle(entries);
        out.contradictions = std::move(contradictions_);
        std::stable_sort(
            out.contradictions.begin(), out.contradictions.end(),
            [](const auto& a, const auto& b) { return a.entries.back() < b.entries.back(); });
        return out;
    }

private:
    struct Steps {
        ScreenSoFar so_far;
        std::map<std::pair<std::string, int>, Entry> started, finished;  // the last one of each
        std::vector<Entry> open;  // starts whose step is not done, of steps that need somebody
    };

    void note(std::string about, std::vector<std::int64_t> entries, std::string words) {
        std::sort(entries.begin(), entries.end());
        entries.erase(std::unique(entries.begin(), entries.end()), entries.end());
        contradictions_.push_back({std::move(about), std::move(entries), std::move(words), 0});
    }

    void screen_mark(const Entry& e) {
        Steps& s = screens_[e.what];
        s.so_far.tag = e.what;
        s.so_far.last = std::max(s.so_far.last, e.id);
        if (e.mark == Mark::Remake) {
            s.so_far.steps.clear();
            s.started.clear();
            s.finished.clear();
            s.open.clear();
            ++s.so_far.remakes;
            s.so_far.remake = e;
            return;
        }
        const std::pair key{e.step, e.round};
        StepSoFar& step = step_of(s.so_far, e);
        if (e.mark == Mark::Start) {
            begun(s, e, step);
        } else {
            ended(s, e, step);
        }
        step.last = std::max(step.last, e.id);
    }

    static StepSoFar& step_of(ScreenSoFar& screen, const Entry& e) {
        for (StepSoFar& step : screen.steps) {
            if (step.step == e.step && step.round == e.round) return step;
        }
        screen.steps.push_back({.step = e.step, .round = e.round});
        return screen.steps.back();
    }

    void begun(Steps& s, const Entry& e, StepSoFar& step) {
        const std::pair key{e.step, e.round};
        const std::string name = e.what + " " + step_text(e);
        absent_or_down(e);
        if (is_carrying(e.step)) {
            step = {.step = e.step,
                    .round = e.round,
                    .start = e.time,
                    .station = e.station,
                    .person = e.person};
            return;
        }
        const auto done = s.finished.find(key);
        if (done != s.finished.end() && done->second.time < e.time) {
            note(e.what, {done->second.id, e.id},
                 fmt::format("{} is marked done at {}, but begun later, at {}", name,
                             clock_of(done->second), clock_of(e)));
        }
        for (const Entry& other : s.open) {
            const bool same = other.step == e.step && other.round == e.round;
            const bool two = two_people(other, e);
            if (two) {
                note(e.what, {other.id, e.id},
                     fmt::format("two people at one screen: {} {} begun at {}, {} at {}", e.what,
                                 step_text(other), clock_of(other), step_text(e), clock_of(e)));
            } else if (same) {
                note(e.what, {other.id, e.id},
                     fmt::format("{} is marked begun twice, at {} and at {}", name, clock_of(other),
                                 clock_of(e)));
            }
        }
        if (!dries_by_itself(e.step)) s.open.push_back(e);
        const auto known = s.started.find(key);
        if (known != s.started.end() && known->second.id > e.id) return;
        s.started[key] = e;
        step.start = e.time;
        step.station = e.station;
        step.person = e.person;
        // Entered after the end and later than it: it has been begun again.
        if (step.done && *step.done < e.time && s.finished.at(key).id < e.id) step.done.reset();
    }

    void ended(Steps& s, const Entry& e, StepSoFar& step) {
        const std::pair key{e.step, e.round};
        const auto before = s.finished.find(key);
        const bool again = before != s.finished.end() && !is_carrying(e.step);
        // Felt dry and taken out later are two things.
        if (again && e.mark == before->second.mark) {
            note(e.what, {before->second.id, e.id},
                 fmt::format("{} {} is marked {} twice, at {} and at {}", e.what, step_text(e),
                             e.mark == Mark::Dry ? "dry" : "done", clock_of(before->second),
                             clock_of(e)));
        }
        s.open.erase(
            std::remove_if(s.open.begin(), s.open.end(),
                           [&](const Entry& o) { return o.step == e.step && o.round == e.round; }),
            s.open.end());
        if (again && before->second.id > e.id && e.mark == before->second.mark) return;
        if (again && e.mark == Mark::Dry && before->second.mark == Mark::Done) return;
        s.finished[key] = e;
        step.done = e.time;
        if (step.station.empty()) step.station = e.station;
        if (step.person.empty()) step.person = e.person;
    }

    void absent_or_down(const Entry& e) {
        for (const auto* list : {&stations_, &people_}) {
            const std::string& name = list == &stations_ ? e.station : e.person;
            const auto found = list->find(name);
            if (name.empty() || found == list->end()) continue;
            const AwaySoFar& last = found->second.back();
            if (last.until && *last.until <= e.time) continue;
            note(e.what, {last.last, e.id},
                 fmt::format("{} {} begun at {}, but {} is marked {} since {} (entry {})", e.what,
                             step_text(e), clock_of(e), name,
                             list == &stations_ ? "out of work" : "not there",
                             model::format_time_of_day(last.from), last.last));
        }
    }

    void away(const Entry& e, std::map<std::string, std::vector<AwaySoFar>>& list, bool gone) {
        auto& times = list[e.what];
        const bool open = !times.empty() && !times.back().until;
        if (gone && !open) times.push_back({e.what, e.time, std::nullopt, e.reason, e.id});
        if (!gone && open) {
            times.back().until = e.time;
            times.back().last = e.id;
        }
        if (times.empty()) list.erase(e.what);
    }

    void thing(const Entry& e) {
        ThingSoFar& one = things_[{e.mark, e.what}];
        if (one.last < e.id) one = {e.mark, e.what, e.time, e.id};
    }

    // By the first later entry about the same that is in no contradiction itself.
    void settle(const std::vector<Entry>& entries) {
        std::set<std::int64_t> doubtful;
        for (const auto& c : contradictions_)
            doubtful.insert(c.entries.begin(), c.entries.end());
        std::map<std::string, std::vector<std::int64_t>> fits;  // by what, rising
        for (const Entry& e : entries) {
            if (doubtful.count(e.id) == 0) fits[e.what].push_back(e.id);
        }
        for (auto& c : contradictions_) {
            const auto& mine = fits[c.about];
            const auto later = std::upper_bound(mine.begin(), mine.end(), c.entries.back());
            if (later != mine.end()) c.settled_by = *later;
        }
    }

    SimTime from_;
    std::optional<SimTime> until_;
    std::map<std::string, Steps> screens_;
    std::map<std::string, std::vector<AwaySoFar>> stations_, people_;
    std::map<std::pair<Mark, std::string>, ThingSoFar> things_;
    std::vector<Contradiction> contradictions_;
};

}  // namespace

const ScreenSoFar* SoFar::screen(const std::string& tag) const {
    const auto found = std::find_if(screens.begin(), screens.end(),
                                    [&](const ScreenSoFar& s) { return s.tag == tag; });
    return found == screens.end() ? nullptr : &*found;
}

SoFar so_far(const std::vector<Entry>& entries, SimTime from, std::optional<SimTime> until) {
    const std::vector<Entry> counting = in_force(entries);
    std::vector<Entry> in_time = counting;
    std::stable_sort(in_time.begin(), in_time.end(),
                     [](const Entry& a, const Entry& b) { return a.time < b.time; });
    Folder folder(from, until);
    for (const Entry& e : in_time)
        folder.take(e);
    return folder.result(counting);
}

}  // namespace sched::journal
