// coatroom mark: what has happened -> entries of the journal -> what was entered and contradicts.
//
// How it works: the words are read against the names of the scenario and the posted plan, a step
// that is not named is found in the plan, and all marks of the call are entered in one stroke; from
// the input (-) each line by itself. Listing and CSV need the journal alone.

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>

#include "model/base/files.hpp"
#include "model/read/bytes.hpp"
#include "model/read/scenario.hpp"
#include "model/read/state_file.hpp"
#include "model/room/steps.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/journal_day.hpp"
#include "sched/app/parts/mark_csv.hpp"
#include "sched/journal/so_far.hpp"

namespace sched::app {

namespace {

using journal::Entry;
using journal::Journal;
using journal::Mark;

int refuse_mark(const std::string& words) {
    std::fprintf(stderr, "coatroom mark: %s\n", words.c_str());
    return BadInput;
}

int not_entered(const journal::Problem& problem) {
    using Kind = journal::Problem::Kind;
    std::fprintf(stderr, "coatroom mark: not entered: %s\n", problem.words.c_str());
    const bool of_the_disk = problem.kind == Kind::NotStored || problem.kind == Kind::ReadOnly ||
                             problem.kind == Kind::Unknown || problem.kind == Kind::Busy;
    return of_the_disk ? NotPrinted : BadInput;
}

nlohmann::ordered_json json_of(const Entry& e) {
    nlohmann::ordered_json out{
        {"id", e.id}, {"time", journal::stamp(e.time)}, {"mark", journal::row_of(e.mark).word}};
    const auto put = [&](const char* key, const std::string& text) {
        if (!text.empty()) out[key] = text;
    };
    put("what", e.what);
    put("step", journal::step_text(e));
    put("station", e.station);
    put("person", e.person);
    put("reason", e.reason);
    put("by", e.by);
    put("device", e.device);
    out["entered"] = journal::stamp(e.entered);
    if (e.undoes > 0) out["undoes"] = e.undoes;
    return out;
}

nlohmann::ordered_json json_of(const std::vector<journal::Contradiction>& list) {
    auto out = nlohmann::ordered_json::array();
    for (const auto& c : list) {
        out.push_back({{"about", c.about}, {"entries", c.entries}, {"words", c.words}});
        if (c.settled_by > 0) out.back()["settled by"] = c.settled_by;
    }
    return out;
}

void print_json(const nlohmann::ordered_json& json) {
    std::printf("%s\n", json.dump(2, ' ', false, nlohmann::json::error_handler_t::replace).c_str());
}

std::string contradiction_line(const journal::Contradiction& c) {
    if (c.settled_by > 0) return fmt::format("settled by entry {}: {}.", c.settled_by, c.words);
    return fmt::format(
        "CONTRADICTION: {}. The last entry counts; take one back with undo, or mark "
        "what is right.",
        c.words);
}

/// The day that marks are made on, and what they are read against.
class MarkDesk {
public:
    /// @returns the exit status; Done: it is open.
    int open(const MarkArgs& args) {
        args_ = &args;
        model::Diagnostics diagnostics, of_files;
        std::string problem;
        if (auto day = read_journal_day(args.scenario, problem, diagnostics))
            day_ = *std::move(day);
        print_diagnostics(diagnostics, args.json);
        if (!problem.empty()) return refuse_mark(problem);
        if (diagnostics.has_errors()) return BadInput;
        scenario_ = model::read_scenario(args.scenario, of_files, run_day({}));
        if (!scenario_) {
            print_diagnostics(of_files, args.json);
            if (posted() == nullptr || !args.state_out.empty()) return BadInput;
            // What happens must not wait for that.
            std::fprintf(stderr,
                         "coatroom mark: the files of the scenario cannot be read; marks are read "
                         "against the posted plan.\n");
        }
        names_ = names_of(scenario_ ? &*scenario_ : nullptr, posted());
        names_.promised.insert(names_.promised.end(), day_.promised.begin(), day_.promised.end());
        clock_ = clock_of_machine();
        base_ = base_day();
        from_ = posted() != nullptr ? posted()->run.from : base_;
        if (args.at.empty()) {
            at_ = base_ + model::time_of_day(clock_);
            return Done;
        }
        const auto t = time_of(args.at);
        if (!t)
            return refuse_mark("--at " + args.at +
                               " is no time. Write 10:40, or 2026-11-26T10:40.");
        at_ = *t;
        return Done;
    }

    /// @returns the entry that the words mean; nullopt with `problem`.
    std::optional<Entry> read(const std::string& words, std::string& problem) {
        for (const std::string* text : {&words, &args_->by, &args_->device}) {
            if (!clean(*text, problem)) return std::nullopt;
        }
        auto said = journal::read_mark(words, names_, problem);
        if (!said) return std::nullopt;
        Entry e = std::move(said->entry);
        clock_ = clock_of_machine();
        if (args_->at.empty()) at_ = base_ + model::time_of_day(clock_);
        e.time = said->clock ? time_of(*said->clock).value_or(at_) : at_;
        e.entered = clock_;
        e.by = args_->by;
        e.device = args_->device;
        if (said->last && !last_of_device(e, problem)) return std::nullopt;
        if (e.mark == Mark::Undo && !said->last && !can_be_undone(e, problem)) return std::nullopt;
        if (!settle_step(e, problem)) return std::nullopt;
        return e;
    }

    /// Those that follow are read as if it stood in the journal. `number` as it will be there.
    void take(Entry e, std::int64_t number) {
        e.id = number;
        day_.entries.push_back(std::move(e));
    }
    void forget(std::size_t count) { day_.entries.resize(day_.entries.size() - count); }

    const JournalDay& day() const { return day_; }
    const report::PlanDocument* posted() const { return day_.posted ? &*day_.posted : nullptr; }
    /// @pre it could be read.
    const model::Scenario& scenario() const { return *scenario_; }
    model::SimTime from() const { return from_; }
    model::SimTime at() const { return at_; }
    model::SimTime clock() const { return clock_; }

private:
    // The room's day where it has one (invented days do); else today.
    model::SimTime base_day() const {
        if (scenario_ && scenario_->room.day) return model::midnight(*scenario_->room.day);
        return model::midnight(model::date_of(clock_));
    }

    // A clock alone is of the day; of an invented day, before its plan begins, of the night after.
    std::optional<model::SimTime> time_of(const std::string& text) const {
        if (const auto t = model::parse_date_time(text)) return t;
        const auto clock = model::parse_time_of_day(text);
        if (!clock) return std::nullopt;
        const model::SimTime t = base_ + *clock;
        const bool invented = scenario_ && scenario_->room.day && posted() != nullptr;
        return invented && t < posted()->run.from ? t + std::chrono::days{1} : t;
    }

    static bool clean(const std::string& text, std::string& problem) {
        model::Diagnostics diagnostics;
        model::read::Findings findings("", diagnostics);
        const bool utf8 = model::read::check_text(text, findings);
        const bool one_line = std::none_of(text.begin(), text.end(),
                                           [](unsigned char c) { return c < 0x20 || c == 0x7f; });
        if (!utf8 || !one_line)
            problem = "a mark is one line of text (UTF-8), without control characters.";
        return utf8 && one_line;
    }

    bool last_of_device(Entry& e, std::string& problem) const {
        for (const Entry& x : journal::in_force(day_.entries)) {
            if (x.device == e.device && x.mark != Mark::Posted) e.undoes = x.id;
        }
        if (e.undoes > 0) return true;
        problem = e.device.empty() ? "there is nothing to take back."
                                   : "nothing was marked on device \"" + e.device +
                                         "\" that could be taken back. Give its number: undo 17.";
        return false;
    }

    bool can_be_undone(const Entry& e, std::string& problem) const {
        const auto has = [&](const std::vector<Entry>& list) {
            return std::any_of(list.begin(), list.end(),
                               [&](const Entry& x) { return x.id == e.undoes; });
        };
        if (!has(day_.entries)) {
            problem = fmt::format("there is no entry {}; --list shows them.", e.undoes);
            return false;
        }
        for (const Entry& x : day_.entries) {
            if (x.mark == Mark::Undo && x.undoes == e.undoes &&
                !has(journal::in_force(day_.entries)) && !undone(x.id)) {
                problem =
                    fmt::format("entry {} is taken back already, by entry {}.", e.undoes, x.id);
                return false;
            }
        }
        return true;
    }
    bool undone(std::int64_t id) const {
        bool out = false;
        for (const Entry& x : day_.entries)
            out = out || (x.mark == Mark::Undo && x.undoes == id);
        return out;
    }

    // A step that was not named, and where and by whom it was done by the plan.
    bool settle_step(Entry& e, std::string& problem) {
        const bool steps = e.mark == Mark::Start || e.mark == Mark::Done || e.mark == Mark::Dry;
        if (!steps) return true;
        const journal::Way* way = journal::way_of(names_.ways, e.what);
        const auto so_far = journal::so_far(day_.entries, from_);
        const journal::ScreenSoFar* marks = so_far.screen(e.what);
        if (e.step.empty()) {
            const std::string word(journal::row_of(e.mark).word);
            if (way == nullptr && e.mark == Mark::Dry && drying_by_marks(marks, e)) return true;
            if (way == nullptr) {
                problem = (posted() == nullptr
                               ? "which step of " + e.what +
                                     "? No plan is posted that would say it (coatroom plan --post)"
                               : "which step of " + e.what + "? The posted plan does not have it") +
                          ". Write " + word + " " + e.what + " coat.";
                return false;
            }
            const auto* step = journal::meant_step(*way, marks, e.mark, e.time);
            if (step == nullptr) {
                problem = e.what + " has no step left that could be marked " + word +
                          ". Name the step, or write remake " + e.what + ".";
                return false;
            }
            e.step = step->step;
            e.round = step->round;
        }
        if (way == nullptr || e.mark == Mark::Start) return true;
        for (const auto& step : way->steps) {
            if (step.step != e.step || step.round != e.round) continue;
            if (e.station.empty()) e.station = said_of(marks, e, &journal::StepSoFar::station);
            if (e.person.empty()) e.person = said_of(marks, e, &journal::StepSoFar::person);
            if (e.station.empty()) e.station = step.station;
            if (e.person.empty()) e.person = step.person;
        }
        return true;
    }
    static std::string said_of(const journal::ScreenSoFar* marks, const Entry& e,
                               std::string journal::StepSoFar::*text) {
        if (marks == nullptr) return {};
        for (const auto& step : marks->steps) {
            if (step.step == e.step && step.round == e.round) return step.*text;
        }
        return {};
    }
    // Without a plan: the drying that is begun, or follows what was done last.
    static bool drying_by_marks(const journal::ScreenSoFar* marks, Entry& e) {
        if (marks == nullptr || marks->steps.empty()) return false;
        const auto& last = marks->steps.back();
        const std::string drying = journal::drying_after(last.step);
        e.step = drying.empty() ? last.step : drying;
        e.round = last.round;
        const auto step = std::find_if(model::step_rows().begin(), model::step_rows().end(),
                                       [&](const model::StepRow& r) { return r.key == e.step; });
        if (step != model::step_rows().end() && model::dries_alone(step->step)) return true;
        e.step.clear();
        e.round = 1;
        return false;
    }

    const MarkArgs* args_ = nullptr;
    std::optional<model::Scenario> scenario_;
    JournalDay day_;
    journal::Names names_;
    model::SimTime clock_{}, base_{}, from_{}, at_{};
};

std::vector<journal::Contradiction> contradictions_of(const std::vector<Entry>& entries,
                                                      model::SimTime from,
                                                      const std::set<std::int64_t>& about) {
    auto all = journal::so_far(entries, from).contradictions;
    std::erase_if(all, [&](const journal::Contradiction& c) {
        const bool mine = std::any_of(c.entries.begin(), c.entries.end(),
                                      [&](std::int64_t id) { return about.count(id) > 0; });
        return !mine || c.settled_by > 0;
    });
    return all;
}

// What was entered, as it stands there now.
void say_entered(const MarkArgs& args, const MarkDesk& desk, const std::vector<Entry>& entered,
                 const std::vector<Entry>& known) {
    std::vector<Entry> all = desk.day().entries;
    std::set<std::int64_t> ids;
    for (const Entry& e : entered)
        ids.insert(e.id);
    const auto contradictions = contradictions_of(all, desk.from(), ids);
    if (args.json) {
        nlohmann::ordered_json json{{"entered", nlohmann::ordered_json::array()}};
        for (const Entry& e : entered)
            json["entered"].push_back(json_of(e));
        json["contradictions"] = json_of(contradictions);
        print_json(json);
        return;
    }
    const auto day = model::date_of(desk.at());
    for (const Entry& e : entered) {
        std::string words = journal::words_of(e, day);
        const auto undone = std::find_if(known.begin(), known.end(),
                                         [&](const Entry& x) { return x.id == e.undoes; });
        if (e.mark == Mark::Undo && undone != known.end())
            words += ": " + journal::words_of(*undone, day);
        std::printf("%lld  %s\n", static_cast<long long>(e.id), words.c_str());
    }
    for (const auto& c : contradictions)
        std::printf("%s\n", contradiction_line(c).c_str());
}

// All marks of the call, or none.
int enter(const MarkArgs& args, MarkDesk& desk) {
    std::vector<Entry> entries;
    bool sound = true;
    for (const std::string& words : args.marks) {
        std::string problem;
        auto e = desk.read(words, problem);
        if (!e) {
            refuse_mark("\"" + words + "\": " + problem);
            sound = false;
            continue;
        }
        desk.take(*e, desk.day().last() + 1);
        entries.push_back(*std::move(e));
    }
    if (!sound) {
        if (args.marks.size() > 1) std::fprintf(stderr, "coatroom mark: nothing was entered.\n");
        return BadInput;
    }
    const Undivided entering;
    journal::Problem problem;
    auto file = Journal::open(args.scenario, Journal::For::Writing, problem);
    // An undo of this call goes by the number that its entry will have.
    const std::int64_t last = desk.day().last() - static_cast<std::int64_t>(entries.size());
    std::vector<Entry> asked = entries;
    for (Entry& e : asked) {
        if (e.undoes > last) e.undoes = last - e.undoes;
    }
    const auto ids = file ? file->add(asked, problem) : std::nullopt;
    if (!ids) return not_entered(problem);
    desk.forget(entries.size());
    for (std::size_t k = 0; k < entries.size(); ++k) {
        if (asked[k].undoes < 0) {
            const auto of_call = std::next(ids->begin(), -asked[k].undoes - 1);
            entries[k].undoes = of_call->id;
        }
        entries[k].id = (*ids)[k].id;
        desk.take(entries[k], entries[k].id);
    }
    say_entered(args, desk, entries, desk.day().entries);
    return Done;
}

// Each line by itself, acknowledged as soon as it is on the disk.
int enter_lines(const MarkArgs& args, MarkDesk& desk) {
    known_so_far("What was printed with its number is in the journal.");
    journal::Problem problem;
    auto file = Journal::open(args.scenario, Journal::For::Writing, problem);
    if (!file) return not_entered(problem);
    int status = Done;
    std::string line;
    const auto read_line = [&] {
        line.clear();
        for (int c = std::getchar(); c != EOF; c = std::getchar()) {
            if (c == '\n') return true;
            line += static_cast<char>(c);
        }
        return !line.empty();
    };
    while (!interrupted() && read_line()) {
        if (!line.empty() && line.back() == '\r') line.pop_back();
        if (line.find_first_not_of(" \t") == std::string::npos || line.front() == '#') continue;
        // Others mark, too.
        if (const auto news = file->entries(desk.day().last(), problem)) {
            for (const Entry& e : *news)
                desk.take(e, e.id);
        }
        std::string wrong;
        auto e = desk.read(line, wrong);
        if (!e) {
            status = refuse_mark("\"" + line + "\": " + wrong);
            continue;
        }
        const Undivided entering;
        const auto ids = file->add({*e}, problem);
        if (!ids) {
            status = not_entered(problem);
            if (status == NotPrinted) return status;
            continue;
        }
        e->id = ids->front().id;
        desk.take(*e, e->id);
        say_entered(args, desk, {*e}, desk.day().entries);
        std::fflush(stdout);
    }
    if (interrupted())
        return say_interrupted("What was printed with its number is in the journal.");
    return status;
}

int import_marks(const MarkArgs& args, MarkDesk& desk) {
    model::Diagnostics diagnostics;
    const auto lines = read_marks(args.import, desk.day().entries, desk.clock(), diagnostics);
    print_diagnostics(diagnostics, args.json);
    if (!lines) return BadInput;
    const Undivided entering;
    journal::Problem problem;
    auto file = Journal::open(args.scenario, Journal::For::Writing, problem);
    const auto ids = file ? file->add(*lines, problem) : std::nullopt;
    if (!ids) return not_entered(problem);
    std::set<std::int64_t> mine;
    for (const auto& id : *ids)
        mine.insert(id.id);
    const auto all = file->entries(0, problem);
    const auto contradictions =
        all ? contradictions_of(*all, desk.from(), mine) : std::vector<journal::Contradiction>{};
    if (args.json) {
        print_json({{"imported", ids->size()}, {"contradictions", json_of(contradictions)}});
        return Done;
    }
    std::printf("%zu entr%s from %s.\n", ids->size(), ids->size() == 1 ? "y" : "ies",
                args.import.c_str());
    for (const auto& c : contradictions)
        std::printf("%s\n", contradiction_line(c).c_str());
    return Done;
}

int write_state(const MarkArgs& args, MarkDesk& desk) {
    const auto state = state_of(desk.day(), desk.posted(), desk.from(), desk.at(), desk.scenario());
    if (args.state_out == "-") {
        std::printf("%s", model::state_text(state).c_str());
        return Done;
    }
    const auto failed = model::write_file_atomically(args.state_out, model::state_text(state));
    if (failed) return not_written("mark", *failed);
    std::fprintf(stderr, "coatroom mark: %s: the state at %s.\n", args.state_out.c_str(),
                 model::format_date_time(desk.at()).c_str());
    return Done;
}

// Listing and CSV: the journal alone, whatever the scenario's files are like.
int show(const MarkArgs& args) {
    journal::Problem problem;
    const auto file = Journal::open(args.scenario, Journal::For::Reading, problem);
    const auto all = file ? file->entries(0, problem) : std::nullopt;
    if (!all) return refuse_mark(problem.words);
    if (args.csv == "-") {
        std::printf("%s", marks_to_csv(*all).c_str());
    } else if (!args.csv.empty()) {
        const auto failed = model::write_file_atomically(args.csv, marks_to_csv(*all));
        if (failed) return not_written("mark", *failed);
        std::fprintf(stderr, "coatroom mark: %zu entries in %s.\n", all->size(), args.csv.c_str());
    }
    if (!args.list) return Done;
    // From the day of the posted plan on, but no more than a week.
    const auto counting = journal::in_force(*all);
    model::SimTime day{};
    std::optional<model::SimTime> posted;
    for (const Entry& e : counting) {
        const auto midnight = model::midnight(model::date_of(e.time));
        day = std::max(day, midnight);
        if (e.mark == Mark::Posted) posted = midnight;
    }
    if (posted) day = std::min(day, std::max(*posted, day - std::chrono::days{6}));
    const auto contradictions = journal::so_far(*all, day).contradictions;
    std::set<std::int64_t> counts;
    for (const Entry& e : counting)
        counts.insert(e.id);
    if (args.json) {
        nlohmann::ordered_json json{{"entries", nlohmann::ordered_json::array()}};
        for (const Entry& e : *all) {
            json["entries"].push_back(json_of(e));
            if (e.mark != Mark::Undo) json["entries"].back()["counts"] = counts.count(e.id) > 0;
        }
        json["contradictions"] = json_of(contradictions);
        print_json(json);
        return Done;
    }
    std::size_t earlier = 0;
    for (const Entry& e : *all) {
        if (e.time < day) {
            ++earlier;
            continue;
        }
        const bool back = e.mark != Mark::Undo && counts.count(e.id) == 0;
        std::printf("%6lld  %s%s\n", static_cast<long long>(e.id),
                    journal::words_of(e, model::date_of(day)).c_str(),
                    back ? "  [taken back]" : "");
    }
    if (earlier > 0) std::printf("%zu entries of earlier days: --csv has them.\n", earlier);
    for (const auto& c : contradictions)
        std::printf("%s\n", contradiction_line(c).c_str());
    return Done;
}

bool sound_marks(const MarkArgs& args) {
    const bool lines = args.marks.size() == 1 && args.marks.front() == "-";
    if (!lines && std::find(args.marks.begin(), args.marks.end(), "-") != args.marks.end()) {
        refuse_mark("- reads the marks from the input; give no others.");
        return false;
    }
    if (args.marks.empty() && args.import.empty() && !args.list && args.csv.empty() &&
        args.state_out.empty()) {
        refuse_mark(
            "say what has happened: \"done A7-2\", \"down cabinet 2\"; or --list, --csv, --import, "
            "--state-out. coatroom mark --help shows all marks.");
        return false;
    }
    if (!args.marks.empty() && !args.import.empty()) {
        refuse_mark("--import enters the lines of a file; give no marks with it.");
        return false;
    }
    return true;
}

}  // namespace

int run_mark(const MarkArgs& args) {
    if (!sound_marks(args)) return BadInput;
    if (!args.marks.empty() || !args.import.empty() || !args.state_out.empty()) {
        MarkDesk desk;
        int status = desk.open(args);
        if (status == Done && !args.import.empty())
            status = import_marks(args, desk);
        else if (status == Done && args.marks.size() == 1 && args.marks.front() == "-")
            status = enter_lines(args, desk);
        else if (status == Done && !args.marks.empty())
            status = enter(args, desk);
        if (status == Done && !args.state_out.empty()) status = write_state(args, desk);
        if (status != Done) return status;
    }
    return args.list || !args.csv.empty() ? show(args) : Done;
}

}  // namespace sched::app
