// How it works: entries and posted plans as rows; the file itself is journal_file, what it keeps of
// promises journal_promises.

#include "sched/journal/journal.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <iterator>
#include <system_error>

#include "sched/journal/journal_file.hpp"

namespace sched::journal {

namespace fs = std::filesystem;

namespace {

// What would break a line of a list or of CSV.
bool odd_text(const Entry& e) {
    const auto odd = [](unsigned char c) { return c < 0x20 || c == 0x7f; };
    for (const std::string* text :
         {&e.what, &e.step, &e.station, &e.person, &e.reason, &e.by, &e.device, &e.client}) {
        if (std::any_of(text->begin(), text->end(), odd)) return true;
    }
    return false;
}

bool too_long(const Entry& e) {
    const auto longest = std::max({e.what.size(), e.step.size(), e.station.size(), e.person.size(),
                                   e.reason.size(), e.by.size(), e.device.size(), e.client.size()});
    return longest > longest_text;
}

// The id of the same mark of the same device, 0: it is new; nullopt: another mark has its name.
std::optional<std::int64_t> known(const JournalFile& file, const Entry& e, Problem& problem) {
    if (e.client.empty()) return 0;
    Statement s(file.db,
                "SELECT id, happened, mark, what, step, round FROM entry "
                "WHERE device = ? AND client = ?");
    s.bind(e.device).bind(e.client);
    if (!s.row()) {
        if (s.failed()) {
            file.fail(s.code(), problem);
            return std::nullopt;
        }
        return 0;
    }
    const bool same = s.text(1) == stamp(e.time) && s.text(2) == row_of(e.mark).word &&
                      s.text(3) == e.what && s.text(4) == e.step && s.number(5) == e.round;
    if (same) return s.number(0);
    problem = {Problem::Kind::Refused,
               fmt::format("the id {} of device {} already stands for another "
                           "mark, entry {}.",
                           e.client, e.device, s.number(0))};
    return std::nullopt;
}

bool undone_is_there(const JournalFile& file, const Entry& e, Problem& problem) {
    Statement s(file.db, "SELECT 1 FROM entry WHERE id = ?");
    s.bind(e.undoes);
    if (s.row()) return true;
    if (s.failed()) return file.fail(s.code(), problem);
    problem = {Problem::Kind::Refused, fmt::format("there is no entry {} to take back.", e.undoes)};
    return false;
}

}  // namespace

std::optional<Entered> enter_one(const JournalFile& file, const Entry& e, Problem& problem) {
    if (too_long(e)) {
        problem = {Problem::Kind::Refused,
                   fmt::format("a text of the mark is longer than {} bytes.", longest_text)};
        return std::nullopt;
    }
    if (odd_text(e)) {
        problem = {Problem::Kind::Refused,
                   "a text of the mark has a line break or another control "
                   "character in it."};
        return std::nullopt;
    }
    const auto before = known(file, e, problem);
    if (!before) return std::nullopt;
    if (*before > 0) return Entered{*before, false};
    if (e.mark == Mark::Undo && !undone_is_there(file, e, problem)) return std::nullopt;
    Statement s(file.db,
                "INSERT INTO entry (happened, entered, mark, what, step, station, person, "
                "reason, by, device, client, round, undoes) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)");
    const std::string happened = stamp(e.time), entered = stamp(e.entered);
    const std::string mark(row_of(e.mark).word);
    s.bind(happened).bind(entered).bind(mark).bind(e.what).bind(e.step).bind(e.station);
    s.bind(e.person).bind(e.reason).bind(e.by).bind(e.device).bind(e.client);
    s.bind(std::int64_t{e.round});
    if (e.mark == Mark::Undo)
        s.bind(e.undoes);
    else
        s.bind_null();
    s.row();
    if (s.failed()) {
        file.fail(s.code(), problem);
        return std::nullopt;
    }
    return Entered{sqlite3_last_insert_rowid(file.db), true};
}

std::optional<std::vector<Entry>> read_entries(const JournalFile& file, std::int64_t after,
                                               const char* which, Problem& problem) {
    std::vector<Entry> out;
    if (file.version == 0) return out;
    const std::string sql =
        std::string(
            "SELECT id, happened, entered, mark, what, step, station, person, reason, "
            "by, device, ifnull(undoes, 0), ") +
        (file.version == 1 ? "'', 1" : "client, round") + " FROM entry WHERE id > ? " + which +
        " ORDER BY id";
    Statement s(file.db, sql.c_str());
    s.bind(after);
    while (s.row()) {
        const auto time = model::parse_date_time(s.text(1));
        const auto entered = model::parse_date_time(s.text(2));
        const auto mark = mark_of(s.text(3));
        if (!time || !entered || !mark) {
            problem = {Problem::Kind::Damaged,
                       fmt::format("{}: entry {} cannot be read (\"{}\" at \"{}\"). It was written "
                                   "by hand, or the file is damaged.",
                                   file.path, s.number(0), s.text(3), s.text(1))};
            return std::nullopt;
        }
        out.push_back({.id = s.number(0),
                       .time = *time,
                       .entered = *entered,
                       .mark = *mark,
                       .what = s.text(4),
                       .step = s.text(5),
                       .round = static_cast<int>(s.number(13)),
                       .station = s.text(6),
                       .person = s.text(7),
                       .reason = s.text(8),
                       .by = s.text(9),
                       .device = s.text(10),
                       .client = s.text(12),
                       .undoes = s.number(11)});
    }
    if (s.failed()) {
        file.fail(s.code(), problem);
        return std::nullopt;
    }
    return out;
}

Journal::Journal(std::unique_ptr<JournalFile> file) : file_(std::move(file)) {}
Journal::Journal(Journal&&) noexcept = default;
Journal& Journal::operator=(Journal&&) noexcept = default;
Journal::~Journal() = default;

std::optional<Journal> Journal::open(const std::string& folder, For what, Problem& problem) {
    auto file = std::make_unique<JournalFile>();
    file->path = (fs::path(folder) / journal_name).string();
    if (!file->open(what, problem)) return std::nullopt;
    return Journal(std::move(file));
}

bool Journal::exists(const std::string& folder) {
    std::error_code error;
    return fs::exists(fs::path(folder) / journal_name, error);
}

const std::string& Journal::path() const {
    return file_->path;
}

std::optional<std::vector<Entered>> Journal::add(const std::vector<Entry>& entries,
                                                 Problem& problem) {
    std::vector<Entered> out;
    const auto all = [&] {
        for (Entry e : entries) {
            if (e.mark == Mark::Undo && e.undoes < 0) {
                // One of this call; more than there are is found to be missing below.
                const std::int64_t before = -e.undoes;
                e.undoes = before <= static_cast<std::int64_t>(out.size())
                               ? std::next(out.begin(), before - 1)->id
                               : 0;
            }
            if (e.mark == Mark::Posted) {
                problem = {Problem::Kind::Refused, "a posted plan is entered with its document."};
                return false;
            }
            const auto one = enter_one(*file_, e, problem);
            if (!one) return false;
            out.push_back(*one);
        }
        return true;
    };
    if (!file_->in_one_stroke(all, problem)) return std::nullopt;
    return out;
}

std::int64_t seen_by(const PostedPlan& plan, const std::vector<Entry>& entries) {
    if (plan.seen > 0 || !plan.now) return plan.seen;
    std::int64_t out = 0;
    for (const Entry& e : entries) {
        if (plan.entry > 0 && e.id >= plan.entry) break;
        if (e.entered <= *plan.now) out = e.id;
    }
    return out;
}

std::optional<Entered> Journal::post(Entry entry, const PostedPlan& plan, Problem& problem,
                                     const std::optional<Entry>& with) {
    entry.mark = Mark::Posted;
    entry.reason = plan.fingerprint;
    if (entry.what.empty()) entry.what = "plan";
    std::optional<Entered> out;
    const auto both = [&] {
        std::optional<Entered> mark;
        if (with) mark = enter_one(*file_, *with, problem);
        if (with && !mark) return false;
        out = enter_one(*file_, entry, problem);
        if (!out || !out->fresh) return out.has_value();
        Statement s(file_->db,
                    "INSERT INTO plan (entry, fingerprint, now, seen, accepted_with, document) "
                    "VALUES (?,?,?,?,?,?)");
        const std::string now = plan.now ? stamp(*plan.now) : "";
        s.bind(out->id).bind(plan.fingerprint).bind(now).bind(plan.seen);
        s.bind(mark ? mark->id : std::int64_t{0}).bind(plan.document);
        s.row();
        return !s.failed() || file_->fail(s.code(), problem);
    };
    if (!file_->in_one_stroke(both, problem)) return std::nullopt;
    return out;
}

std::optional<std::vector<Entry>> Journal::entries(std::int64_t after, Problem& problem) const {
    return read_entries(*file_, after, "", problem);
}

std::optional<std::int64_t> Journal::last_id(Problem& problem) const {
    std::int64_t id = 0;
    if (file_->version == 0) return id;
    if (!file_->number("SELECT ifnull(max(id), 0) FROM entry", id, problem)) return std::nullopt;
    return id;
}

std::optional<PostedPlan> Journal::posted(Problem& problem) const {
    return posted_where(nullptr, problem);
}

std::optional<PostedPlan> Journal::posted_as(const std::string& document, Problem& problem) const {
    return posted_where(&document, problem);
}

std::optional<PostedPlan> Journal::posted_where(const std::string* document,
                                                Problem& problem) const {
    PostedPlan out;
    const auto all = read_entries(*file_, 0, "AND mark IN ('posted', 'undo')", problem);
    if (!all) return std::nullopt;
    for (const Entry& e : in_force(*all)) {
        if (e.mark != Mark::Posted) continue;
        if (document != nullptr) {
            Statement s(file_->db, "SELECT 1 FROM plan WHERE entry = ? AND document = ?");
            s.bind(e.id).bind(*document);
            if (!s.row()) {
                if (!s.failed()) continue;
                file_->fail(s.code(), problem);
                return std::nullopt;
            }
        }
        out.entry = e.id;
        out.time = e.time;
    }
    if (out.entry == 0) return out;
    const std::string sql = std::string("SELECT fingerprint, now, seen, ") +
                            (file_->version < 4 ? "0" : "accepted_with") +
                            (document != nullptr ? ", ''" : ", document") +
                            " FROM plan WHERE entry = ?";
    Statement s(file_->db, sql.c_str());
    s.bind(out.entry);
    if (!s.row()) {
        if (s.failed())
            file_->fail(s.code(), problem);
        else
            problem = {Problem::Kind::Damaged,
                       fmt::format("{}: the plan of entry {} is missing.", file_->path, out.entry)};
        return std::nullopt;
    }
    out.fingerprint = s.text(0);
    out.now = model::parse_date_time(s.text(1));
    out.seen = s.number(2);
    out.with = s.number(3);
    out.document = s.text(4);
    return out;
}

bool Journal::sound(Problem& problem) const {
    Statement s(file_->db, "PRAGMA integrity_check(1)");
    if (!s.row()) return !s.failed() || file_->fail(s.code(), problem);
    if (s.text(0) == "ok") return true;
    problem = {Problem::Kind::Damaged,
               file_->path + " is damaged (" + s.text(0) +
                   "). Put it aside and copy the last good copy into its place."};
    return false;
}

}  // namespace sched::journal
