// How it works: one table of columns reads each line; what a kind of mark needs besides is checked
// line by line. Then lines of all files are put together, those taken back are taken out, and the
// rest is sorted by time.

#include "model/read/mark_file.hpp"

#include <algorithm>
#include <map>

#include "model/read/bytes.hpp"
#include "model/read/csv_table.hpp"
#include "model/room/steps.hpp"

namespace model {

namespace read {

const Choices<MarkKind>& choices_of(MarkKind) {
    static const Choices<MarkKind> table{
        {"start", MarkKind::Start},   {"done", MarkKind::Done},
        {"dry", MarkKind::Dry},       {"remake", MarkKind::Remake},
        {"down", MarkKind::Down},     {"up", MarkKind::Up},
        {"absent", MarkKind::Absent}, {"present", MarkKind::Present},
        {"film", MarkKind::Film},     {"returned", MarkKind::Returned},
        {"opened", MarkKind::Opened}, {"empty", MarkKind::Empty},
        {"ready", MarkKind::Ready},   {"longer", MarkKind::Longer},
        {"first", MarkKind::First},   {"another", MarkKind::Another},
        {"undo", MarkKind::Undo},     {"posted", MarkKind::Posted}};
    return table;
}

namespace {

constexpr std::size_t most_bytes = std::size_t{64} << 20;
constexpr std::size_t most_lines = 400'000;

/// By its key ("wash-out"), as the journal writes it, or by its word ("wash out").
Row<PastMark> step_row(Words words) {
    Row<PastMark> out{
        spec_of("step", Kind::Text, std::move(words)),
        [](Findings& findings, const KeySpec& spec, const YamlNode& node, PastMark& mark) {
            const std::string* text = scalar_text(findings, spec, node);
            if (text == nullptr) return;
            // "face-coat 2": the second one.
            std::string name = *text;
            if (const std::size_t gap = name.rfind(' '); gap != std::string::npos) {
                const auto round = parse_count(name.substr(gap + 1));
                if (round.value && *round.value >= 1) {
                    mark.round = *round.value;
                    name.resize(gap);
                }
            }
            mark.step = step_of(name);
            for (const StepRow& r : step_rows()) {
                if (r.key == name) mark.step = r.step;
            }
            if (mark.step) return;
            std::vector<std::string> known;
            for (const StepRow& r : step_rows())
                known.emplace_back(r.key);
            const std::string near = did_you_mean(name, known);
            findings.error(node.place, "unknown-step", in_quotes(*text) + " is no step.",
                           near.empty() ? "Steps: " + name_list(known, 30) + "." : near);
        }};
    return out;
}

// What a mark must say.
void check_lines(CsvTable<PastMark>& table, MarkUse use, Findings& findings) {
    for (std::size_t i = 0; i < table.values.size(); ++i) {
        if (!table.sound[i]) continue;
        const PastMark& m = table.values[i];
        bool sound = true;
        const auto wrong = [&](const char* column, const char* code, std::string what,
                               std::string hint) {
            findings.error(table.place(i, column), code, std::move(what), std::move(hint));
            sound = false;
        };
        // Whether it is dry can be said of whatever the screen is in.
        if ((m.mark == MarkKind::Start || m.mark == MarkKind::Done) && !m.step)
            wrong("step", "mark-incomplete", "this mark does not say of which step.",
                  "Write its key, wash-out for example.");
        if (m.mark != MarkKind::Undo && m.mark != MarkKind::Posted && m.what.empty())
            wrong("what", "mark-incomplete", "this mark does not say of what.",
                  "Write the tag of the screen, A7-2 for example.");
        if (m.mark == MarkKind::Undo && m.undoes.empty())
            wrong("undoes", "mark-incomplete", "this undo does not say which mark it takes back.",
                  "Write the id of that mark.");
        // What is learnt from is read to its end: what is wrong between lines is found, too.
        if (use == MarkUse::Enter) table.sound[i] = sound;
    }
}

bool said_alike(const PastMark& a, const PastMark& b) {
    PastMark c = b;
    c.place = a.place;
    return a == c;
}

}  // namespace

const Table<PastMark>& past_mark_table() {
    static const Table<PastMark> table{
        row("time", &PastMark::at,
            {.required = true, .example = "2026-11-26T09:12:00", .help = "When it happened."}),
        row("mark", &PastMark::mark,
            {.required = true, .example = "done", .help = "What happened."}),
        row("what", &PastMark::what,
            {.example = "A7-2", .help = "Screen by its tag, order, station, person or pot."}),
        step_row({.example = "wash-out",
                  .help =
                      "Of start, done and dry: the step, by its key, with the number of a further "
                      "one (face-coat 2); of a remake: where it goes back to."}),
        row("station", &PastMark::station, {.example = "washout booth", .help = "Where."}),
        row("person", &PastMark::person, {.example = "Ben", .help = "Who does it."}),
        row("reason", &PastMark::reason, {.example = "pinhole", .help = "Of a remake."}),
        row("by", &PastMark::by, {.example = "BK", .help = "Initials of whoever marked it."}),
        row("device", &PastMark::device, {.example = "tablet 2", .help = "Where it was marked."}),
        row("entered", &PastMark::entered,
            {.example = "2026-11-26T09:12:04", .help = "When it was marked; left out: at once."}),
        row("id", &PastMark::id, {.example = "417", .help = "Number of the mark."}),
        row("undoes", &PastMark::undoes,
            {.example = "416", .help = "Of an undo: id of the mark that it takes back."}),
    };
    return table;
}

std::optional<CsvTable<PastMark>> read_mark_table(const std::string& path, MarkUse use,
                                                  Findings& findings) {
    const auto text = load(path, most_bytes, Missing::Error, findings);
    if (!text || !check_text(*text, findings)) return std::nullopt;
    auto table = read_csv_table(*text, findings, past_mark_table(), nullptr, most_lines);
    check_lines(table, use, findings);
    return table;
}

}  // namespace read

std::vector<PastMark> read_marks(const std::vector<std::string>& paths, Diagnostics& diagnostics) {
    using namespace read;
    const std::size_t errors_before = diagnostics.error_count();
    std::vector<PastMark> all;
    std::map<std::string, std::size_t> by_id;
    std::vector<std::pair<PastMark, SourcePlace>> undone;
    for (const std::string& path : paths) {
        Findings findings(path, diagnostics);
        auto table = read_mark_table(path, MarkUse::Learn, findings);
        for (std::size_t i = 0; table && i < table->values.size(); ++i) {
            PastMark& m = table->values[i];
            if (!table->sound[i]) continue;
            if (!m.id.empty()) {
                const auto [at, fresh] = by_id.emplace(m.id, all.size());
                if (!fresh) {
                    const PastMark& other = all[at->second];
                    if (said_alike(other, m)) continue;  // files that overlap
                    findings.error(table->place(i, "id"), "mark-twice",
                                   "another mark has the id " + in_quotes(m.id) + ", too (" +
                                       other.place.file + ", line " +
                                       std::to_string(other.place.line) + ").",
                                   "Give each mark its own, or leave one of the files out.");
                    continue;
                }
            }
            if (m.mark == MarkKind::Undo && !m.undoes.empty())
                undone.emplace_back(m, table->place(i, "undoes"));
            all.push_back(std::move(m));
        }
    }
    // The last word counts: an undo that was taken back itself takes nothing back.
    std::vector<char> gone(all.size(), 0);
    for (auto it = undone.rbegin(); it != undone.rend(); ++it) {
        const auto& [undo, place] = *it;
        const auto target = by_id.find(undo.undoes);
        const auto own = by_id.find(undo.id);
        if (target == by_id.end()) {
            Findings(place.file, diagnostics)
                .error(place, "unknown-mark",
                       "there is no mark with the id " + in_quotes(undo.undoes) + ".",
                       "Name the file that has it, too, or take this line out.");
            continue;
        }
        if (own != by_id.end() && gone[own->second]) continue;
        gone[target->second] = 1;
    }
    if (diagnostics.error_count() > errors_before) return {};
    std::vector<PastMark> out;
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (!gone[i] && all[i].mark != MarkKind::Undo) out.push_back(std::move(all[i]));
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const PastMark& a, const PastMark& b) { return a.at < b.at; });
    return out;
}

}  // namespace model
