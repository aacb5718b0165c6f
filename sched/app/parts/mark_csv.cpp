// How it works: the lines are read as tune reads them (model/read/mark_file), then become entries
// of the journal: their step, what they undo. Numbers of entries are the file's own and are given
// anew; an undo finds its entry by them, in the file first and in the journal else.

#include "sched/app/parts/mark_csv.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "model/base/units.hpp"
#include "model/read/bytes.hpp"
#include "model/read/csv_table.hpp"
#include "model/read/mark_file.hpp"
#include "model/room/steps.hpp"

namespace sched::app {

namespace {

using journal::Entry;
using journal::Mark;
using model::read::in_quotes;

using MarkLine = model::PastMark;

// Both in the order of the words in the file.
static_assert(static_cast<int>(model::MarkKind::Start) == static_cast<int>(Mark::Start));
static_assert(static_cast<int>(model::MarkKind::Returned) == static_cast<int>(Mark::Returned));
static_assert(static_cast<int>(model::MarkKind::Posted) == static_cast<int>(Mark::Posted));

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
            known_.insert(e.id);
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
            const std::string& id = table_.values[k].id;
            if (!id.empty() && numbers_.count(id) > 0) {
                wrong(k, "id", "mark-twice", "another line has the id " + in_quotes(id) + ", too.",
                      "Give each line its own, or none.");
                continue;
            }
            if (const auto there = known_as(*entry)) {
                if (!id.empty()) numbers_[id] = *there;
                continue;
            }
            out.push_back(*entry);
            if (!id.empty()) numbers_[id] = -static_cast<std::int64_t>(out.size());
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
        Entry e{.time = line.at,
                .entered = line.entered.value_or(now_),
                .mark = static_cast<Mark>(line.mark),
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
        if (!step_of(k, e) || !undo_of(k, e)) return std::nullopt;
        return e;
    }

    bool step_of(std::size_t k, Entry& e) {
        const MarkLine& line = table_.values[k];
        if (!line.step) return true;
        e.step = model::row_of(*line.step).key;
        e.round = line.round;
        std::string step;
        int round = 1;
        const bool sound = journal::read_step_text(journal::step_text(e), step, round);
        if (!sound)
            wrong(k, "step", "unknown-step",
                  in_quotes(e.step) + " does not come so often on the way of a screen.",
                  "Only face coats, their drying and what takes them out have a number.");
        return sound;
    }

    bool undo_of(std::size_t k, Entry& e) {
        if (e.mark != Mark::Undo) return true;
        const std::string& undoes = table_.values[k].undoes;
        const auto found = numbers_.find(undoes);
        if (found != numbers_.end()) {
            e.undoes = found->second;
            return true;
        }
        const auto number = model::parse_count(undoes);
        if (number.value && known_.count(*number.value) > 0) {
            e.undoes = *number.value;
            return true;
        }
        wrong(k, "undoes", "unknown-mark",
              "no mark " + in_quotes(undoes) + " stands above this line or in the journal.",
              "Write the id of that mark.");
        return false;
    }

    std::optional<std::int64_t> known_as(const Entry& e) {
        const auto found = unused_.find(content_of(e));
        if (found == unused_.end() || found->second.empty()) return std::nullopt;
        const std::int64_t id = found->second.back();
        found->second.pop_back();
        return id;
    }

    std::set<std::int64_t> known_;
    std::map<std::string, std::vector<std::int64_t>>
        unused_;  // no line of the file yet; last first
    model::SimTime now_;
    const model::read::CsvTable<MarkLine>& table_;
    model::read::Findings& findings_;
    std::map<std::string, std::int64_t>
        numbers_;  // of the file: entry of the journal, or -line of ours
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
    std::vector<Entry> entries;
    if (const auto table = read_mark_table(path, MarkUse::Enter, findings))
        entries = MarkReader(known, now, *table, findings).read();
    if (diagnostics.error_count() > before) return std::nullopt;
    return entries;
}

}  // namespace sched::app
