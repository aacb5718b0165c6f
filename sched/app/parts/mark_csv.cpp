// How it works: a line of CSV is read by a table of rows as every other file is, then checked as a
// mark: its words, its step, what it undoes. Numbers of entries are the file's own and are given
// anew; an undo finds its entry by them, in the file first and in the journal else.

#include "sched/app/parts/mark_csv.hpp"

#include <algorithm>
#include <map>

#include "model/read/bytes.hpp"
#include "model/read/csv_table.hpp"
#include "model/room/steps.hpp"
#include "sched/journal/mark_words.hpp"

namespace sched::app {

namespace {

using journal::Entry;
using journal::Mark;
using model::read::in_quotes;

struct MarkLine {
    model::SimTime time{};
    std::string mark, what, step, station, person, reason, by, device;
    std::optional<model::SimTime> entered;
    int id = 0, undoes = 0;
    model::SourcePlace place;
};

const model::read::Table<MarkLine>& mark_line_table() {
    using model::read::row;
    static const model::read::Table<MarkLine> table{
        row("time", &MarkLine::time, {.required = true, .example = "2026-11-26T09:12:00"}),
        row("mark", &MarkLine::mark, {.required = true, .example = "done"}),
        row("what", &MarkLine::what, {.example = "A7-2"}),
        row("step", &MarkLine::step, {.example = "wash-out"}),
        row("station", &MarkLine::station, {}),
        row("person", &MarkLine::person, {}),
        row("reason", &MarkLine::reason, {}),
        row("by", &MarkLine::by, {}),
        row("device", &MarkLine::device, {}),
        row("entered", &MarkLine::entered, {}),
        row("id", &MarkLine::id, {.least = "1", .most = "100000000"}),
        row("undoes", &MarkLine::undoes, {.least = "1", .most = "100000000"}),
    };
    return table;
}

std::vector<std::string> step_keys() {
    std::vector<std::string> keys;
    for (const model::StepRow& row : model::step_rows())
        keys.emplace_back(row.key);
    return keys;
}

std::vector<std::string> mark_names() {
    std::vector<std::string> names;
    for (const journal::MarkRow& row : journal::mark_rows())
        names.emplace_back(row.word);
    return names;
}

/// What makes two entries the same but their numbers.
std::string content_of(const Entry& e) {
    std::string key;
    for (const std::string& part :
         {journal::stamp(e.time), journal::stamp(e.entered),
          std::string(journal::row_of(e.mark).word), e.what, journal::step_text(e), e.station,
          e.person, e.reason, e.by, e.device, std::to_string(e.undoes)})
        key += part + '\x1f';
    return key;
}

class MarkReader {
public:
    MarkReader(const std::vector<Entry>& known, model::SimTime now,
               const model::read::CsvTable<MarkLine>& table, model::read::Findings& findings)
        : now_(now), table_(table), findings_(findings) {
        for (const Entry& e : known)
            known_.emplace(e.id, content_of(e));
        for (auto e = known.rbegin(); e != known.rend(); ++e)
            unused_[content_of(*e)].push_back(e->id);
    }

    std::vector<Entry> read() {
        std::vector<Entry> out;
        int plans = 0;
        for (std::size_t k = 0; k < table_.values.size(); ++k) {
            auto entry = entry_of(k);
            if (!entry) continue;
            if (entry->mark == Mark::Posted) {
                ++plans;
                continue;
            }
            const int id = table_.values[k].id;
            if (const auto there = known_as(*entry)) {
                if (id > 0) numbers_[id] = *there;
                continue;
            }
            out.push_back(*entry);
            if (id > 0) numbers_[id] = -static_cast<std::int64_t>(out.size());
        }
        if (plans > 0) {
            findings_.warning(findings_.whole_file(), "plans-left-out",
                              fmt::format("{} posted plan{} left out: CSV has no documents.", plans,
                                          plans == 1 ? " is" : "s are"),
                              "Copy journal.sqlite to move them.");
        }
        return out;
    }

private:
    std::optional<Entry> wrong(std::size_t k, const char* column, const char* code,
                               std::string what, std::string hint) {
        findings_.error(table_.place(k, column), code, std::move(what), std::move(hint));
        return std::nullopt;
    }

    std::optional<Entry> entry_of(std::size_t k) {
        const MarkLine& line = table_.values[k];
        if (!table_.sound[k]) return std::nullopt;
        const auto mark = journal::mark_of(line.mark);
        if (!mark)
            return wrong(k, "mark", "unknown-mark", in_quotes(line.mark) + " is no mark.",
                         journal::closest(line.mark, mark_names()));
        Entry e{.time = line.time,
                .entered = line.entered.value_or(now_),
                .mark = *mark,
                .what = line.what,
                .station = line.station,
                .person = line.person,
                .reason = line.reason,
                .by = line.by,
                .device = line.device};
        for (const std::string* text :
             {&line.what, &line.station, &line.person, &line.reason, &line.by, &line.device}) {
            if (text->size() > journal::longest_text)
                return wrong(k, "time", "too-long", "this line has a text of more than 200 bytes.",
                             "Shorten it.");
        }
        const bool nameless = *mark == Mark::Undo || *mark == Mark::Posted;
        if (line.what.empty() && !nameless)
            return wrong(k, "what", "nothing-marked", "the line does not say what is marked.",
                         "Name the screen, order, station, person or pot.");
        if (!step_of(k, e) || !undo_of(k, e)) return std::nullopt;
        return e;
    }

    bool step_of(std::size_t k, Entry& e) {
        const std::string& text = table_.values[k].step;
        const auto keys = step_keys();
        const bool sound =
            journal::read_step_text(text, e.step, e.round) &&
            (text.empty() || std::find(keys.begin(), keys.end(), e.step) != keys.end());
        if (!sound)
            wrong(k, "step", "unknown-step", in_quotes(text) + " is no step.",
                  journal::closest(e.step, keys));
        const bool needs = e.mark == Mark::Start || e.mark == Mark::Done;
        if (needs && text.empty())
            wrong(k, "step", "step-missing", "a step that is begun or done has a name.",
                  "Write its key, as in plan.json: coat, wash-out.");
        return sound && !(needs && text.empty());
    }

    bool undo_of(std::size_t k, Entry& e) {
        if (e.mark != Mark::Undo) return true;
        const int undoes = table_.values[k].undoes;
        const auto found = numbers_.find(undoes);
        if (found != numbers_.end()) {
            e.undoes = found->second;
            return true;
        }
        const bool there = known_.count(undoes) > 0;
        if (there) {
            e.undoes = undoes;
            return true;
        }
        wrong(k, "undoes", "nothing-undone",
              undoes > 0
                  ? fmt::format("no entry {} stands above this line or in the journal.", undoes)
                  : "an undo names the entry that it takes back.",
              "Write the id of a line above it.");
        return false;
    }

    std::optional<std::int64_t> known_as(const Entry& e) {
        const auto found = unused_.find(content_of(e));
        if (found == unused_.end() || found->second.empty()) return std::nullopt;
        const std::int64_t id = found->second.back();
        found->second.pop_back();
        return id;
    }

    std::map<std::int64_t, std::string> known_;
    std::map<std::string, std::vector<std::int64_t>>
        unused_;  // no line of the file yet; last first
    model::SimTime now_;
    const model::read::CsvTable<MarkLine>& table_;
    model::read::Findings& findings_;
    std::map<int, std::int64_t> numbers_;  // of the file: entry of the journal, or -line of ours
};

}  // namespace

std::string marks_to_csv(const std::vector<Entry>& entries) {
    std::string out = std::string(mark_columns) + "\n";
    for (const Entry& e : entries) {
        std::string line;
        for (const std::string& cell :
             {journal::stamp(e.time), std::string(journal::row_of(e.mark).word), e.what,
              journal::step_text(e), e.station, e.person, e.reason, e.by, e.device,
              journal::stamp(e.entered), std::to_string(e.id),
              e.undoes > 0 ? std::to_string(e.undoes) : std::string{}})
            line += (line.empty() ? "" : ",") + model::read::csv_cell(cell, ',');
        out += line + "\n";
    }
    return out;
}

std::optional<std::vector<Entry>> read_marks(const std::string& path,
                                             const std::vector<Entry>& known, model::SimTime now,
                                             model::Diagnostics& diagnostics) {
    using namespace model::read;
    const std::size_t before = diagnostics.error_count();
    Findings findings(path, diagnostics);
    const auto text = load(path, csv_most_bytes, Missing::Error, findings);
    std::vector<Entry> entries;
    if (text && check_text(*text, findings)) {
        const auto table = read_csv_table(*text, findings, mark_line_table());
        entries = MarkReader(known, now, table, findings).read();
    }
    if (diagnostics.error_count() > before) return std::nullopt;
    return entries;
}

}  // namespace sched::app
