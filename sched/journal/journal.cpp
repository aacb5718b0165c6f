// How it works: a file is opened, looked at (is it a journal, of which version) and only then
// written to. Every change is one immediate transaction, in WAL mode with synchronous=FULL: when
// COMMIT returns, the disk has it. What SQLite complains of becomes one of few kinds of problem.

#include "sched/journal/journal.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <cctype>
#include <chrono>
#include <filesystem>
#include <iterator>
#include <system_error>
#include <thread>

#include "sched/journal/schema.hpp"

namespace sched::journal {

namespace fs = std::filesystem;

namespace {

constexpr int patience_ms = 10000;  // while another program writes
using Kind = Problem::Kind;

Problem problem_of(sqlite3* db, int code, const std::string& path) {
    const std::string said = db != nullptr ? sqlite3_errmsg(db) : sqlite3_errstr(code);
    switch (code & 0xff) {
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return {Kind::Busy, path + " is held by another program. Try again."};
        case SQLITE_READONLY:
        case SQLITE_PERM:
        case SQLITE_AUTH:
        case SQLITE_CANTOPEN:
            return {Kind::ReadOnly, path +
                                        " cannot be opened, or it or its folder may not be "
                                        "written (" +
                                        said + ")."};
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB:
            return {Kind::Damaged,
                    path + " is damaged, or no journal (" + said +
                        "). Nothing was written to it. Put it aside and copy the last good copy "
                        "into its place."};
        case SQLITE_FULL:
        case SQLITE_IOERR:
            return {Kind::NotStored,
                    path + " cannot be written: the disk is full or fails (" + said + ")."};
        default:
            return {Kind::Refused, path + ": " + said + "."};
    }
}

/// A prepared statement; texts are bound as they are, without copies: they outlive the step.
class Statement {
public:
    Statement(sqlite3* db, const char* sql) : db_(db) {
        code_ = sqlite3_prepare_v2(db, sql, -1, &statement_, nullptr);
    }
    ~Statement() { sqlite3_finalize(statement_); }
    Statement(const Statement&) = delete;
    Statement& operator=(const Statement&) = delete;

    Statement& bind(const std::string& text) {
        if (code_ == SQLITE_OK)
            code_ = sqlite3_bind_text64(statement_, ++bound_, text.data(), text.size(),
                                        SQLITE_STATIC, SQLITE_UTF8);
        return *this;
    }
    Statement& bind(std::int64_t number) {
        if (code_ == SQLITE_OK) code_ = sqlite3_bind_int64(statement_, ++bound_, number);
        return *this;
    }
    Statement& bind_null() {
        if (code_ == SQLITE_OK) code_ = sqlite3_bind_null(statement_, ++bound_);
        return *this;
    }
    /// @returns whether there is a row; code() says whether that is an error.
    bool row() {
        if (code_ != SQLITE_OK && code_ != SQLITE_ROW) return false;
        code_ = sqlite3_step(statement_);
        return code_ == SQLITE_ROW;
    }
    bool failed() const {
        return code_ != SQLITE_OK && code_ != SQLITE_ROW && code_ != SQLITE_DONE;
    }
    int code() const { return code_; }
    std::string text(int column) const {
        const auto* bytes = sqlite3_column_text(statement_, column);
        const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement_, column));
        return bytes == nullptr ? std::string{}
                                : std::string(reinterpret_cast<const char*>(bytes), size);
    }
    std::int64_t number(int column) const { return sqlite3_column_int64(statement_, column); }

private:
    sqlite3* db_;
    sqlite3_stmt* statement_ = nullptr;
    int code_ = SQLITE_OK;
    int bound_ = 0;
};

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

}  // namespace

struct Journal::File {
    sqlite3* db = nullptr;
    std::string path;
    std::size_t version = 0;
    bool writing = false;

    File() = default;
    File(const File&) = delete;
    File& operator=(const File&) = delete;
    ~File() { sqlite3_close_v2(db); }

    bool fail(int code, Problem& problem) const {
        problem = problem_of(db, code, path);
        return false;
    }
    bool run(const char* sql, Problem& problem) const {
        const int code = sqlite3_exec(db, sql, nullptr, nullptr, nullptr);
        return code == SQLITE_OK || fail(code, problem);
    }
    bool number(const char* sql, std::int64_t& out, Problem& problem) const {
        Statement s(db, sql);
        if (s.row()) out = s.number(0);
        return !s.failed() || fail(s.code(), problem);
    }

    // What lies there: an empty file is a journal to be; another program's is left alone.
    bool look(Problem& problem) {
        std::int64_t mine = 0, tables = 0, said = 0;
        if (!number("PRAGMA application_id", mine, problem) ||
            !number("PRAGMA user_version", said, problem) ||
            !number("SELECT count(*) FROM sqlite_schema", tables, problem))
            return false;
        version = 0;
        if (tables == 0 && mine == 0 && said == 0) return true;
        if (mine != application_id || said < 1) {
            problem = {Kind::Damaged,
                       path +
                           " is a database of another program, no journal. Nothing was written "
                           "to it. Move it elsewhere."};
            return false;
        }
        if (said > schema_version) {
            problem = {Kind::Newer,
                       fmt::format("{} was written by a later version of this program (its tables "
                                   "are of version {}, known here: {}). Nothing was written to it. "
                                   "Use the later version.",
                                   path, said, schema_version)};
            return false;
        }
        for (std::int64_t v = 0; v < said; ++v)
            ++version;
        return true;
    }

    bool migrate(Problem& problem) {
        if (version == migrations.size()) return true;
        if (!run("BEGIN IMMEDIATE", problem)) return false;
        // Another program may have done it meanwhile.
        bool done = look(problem);
        for (std::size_t v = version; done && v < migrations.size(); ++v)
            done = run(migrations[v], problem);
        const std::string stamp = fmt::format("PRAGMA application_id={}; PRAGMA user_version={}",
                                              application_id, schema_version);
        done = done && run(stamp.c_str(), problem) && run("COMMIT", problem);
        if (!done) sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr);
        if (done) version = migrations.size();
        return done;
    }

    bool open(For what, Problem& problem) {
        std::error_code error;
        const auto status = fs::status(path, error);
        const bool there = fs::exists(status);
        if (there && !fs::is_regular_file(status)) {
            problem = {Kind::Damaged, path + " is no file. Move it elsewhere."};
            return false;
        }
        writing = what == For::Writing;
        if (!there && !writing) {
            problem = {Kind::Missing, path + " is not there: nothing has been marked."};
            return false;
        }
        const int flags =
            writing ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY;
        int code = connect(path, flags);
        if (code == SQLITE_OK && !writing) {
            // In a folder that may not be written, or is full, SQLite wants to be told that nobody
            // else writes. True where no log is left over.
            std::int64_t probe = 0;
            Problem first;
            if (!number("PRAGMA user_version", probe, first)) {
                const bool left_over = fs::file_size(path + "-wal", error) > 0 && !error;
                if ((first.kind == Kind::ReadOnly || first.kind == Kind::NotStored) && !left_over)
                    code = connect(as_uri(), flags | SQLITE_OPEN_URI);
            }
        }
        if (code != SQLITE_OK) return fail(code, problem);
        // In one transaction: another program may be making the file just now.
        const bool sound = run("BEGIN", problem) && look(problem);
        sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr);
        if (!sound || !writing) return sound;
        return settings(problem) && migrate(problem);
    }

    // Two that make the file at once get in each other's way when they set its mode, and SQLite
    // does not wait there.
    bool settings(Problem& problem) const {
        constexpr auto pause = std::chrono::milliseconds(5);
        for (int waited = 0;; waited += 5) {
            if (run("PRAGMA journal_mode=WAL", problem)) break;
            if (problem.kind != Kind::Busy || waited > patience_ms) return false;
            std::this_thread::sleep_for(pause);
        }
        problem = {};
        return run("PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON", problem);
    }

    int connect(const std::string& name, int flags) {
        sqlite3_close_v2(db);
        db = nullptr;
        const int code = sqlite3_open_v2(name.c_str(), &db, flags | SQLITE_OPEN_EXRESCODE, nullptr);
        if (code == SQLITE_OK) sqlite3_busy_timeout(db, patience_ms);
        return code;
    }
    std::string as_uri() const {
        std::string uri = "file:";
        for (const char c : path) {
            const bool plain = std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '/' ||
                               c == '.' || c == '-' || c == '_';
            uri += plain ? std::string(1, c)
                         : fmt::format("%{:02x}",
                                       static_cast<unsigned>(static_cast<unsigned char>(c)));
        }
        return uri + "?immutable=1";
    }

    // The id of the same mark of the same device, 0: it is new; nullopt: another mark has its name.
    std::optional<std::int64_t> known(const Entry& e, Problem& problem) const {
        if (e.client.empty()) return 0;
        Statement s(db,
                    "SELECT id, happened, mark, what, step, round FROM entry "
                    "WHERE device = ? AND client = ?");
        s.bind(e.device).bind(e.client);
        if (!s.row()) {
            if (s.failed()) {
                fail(s.code(), problem);
                return std::nullopt;
            }
            return 0;
        }
        const bool same = s.text(1) == stamp(e.time) && s.text(2) == row_of(e.mark).word &&
                          s.text(3) == e.what && s.text(4) == e.step && s.number(5) == e.round;
        if (same) return s.number(0);
        problem = {Kind::Refused, fmt::format("the id {} of device {} already stands for another "
                                              "mark, entry {}.",
                                              e.client, e.device, s.number(0))};
        return std::nullopt;
    }

    bool undone_is_there(const Entry& e, Problem& problem) const {
        Statement s(db, "SELECT 1 FROM entry WHERE id = ?");
        s.bind(e.undoes);
        if (s.row()) return true;
        if (s.failed()) return fail(s.code(), problem);
        problem = {Kind::Refused, fmt::format("there is no entry {} to take back.", e.undoes)};
        return false;
    }

    std::optional<Entered> add_one(const Entry& e, Problem& problem) const {
        if (too_long(e)) {
            problem = {Kind::Refused,
                       fmt::format("a text of the mark is longer than {} bytes.", longest_text)};
            return std::nullopt;
        }
        if (odd_text(e)) {
            problem = {Kind::Refused,
                       "a text of the mark has a line break or another control "
                       "character in it."};
            return std::nullopt;
        }
        const auto before = known(e, problem);
        if (!before) return std::nullopt;
        if (*before > 0) return Entered{*before, false};
        if (e.mark == Mark::Undo && !undone_is_there(e, problem)) return std::nullopt;
        Statement s(
            db,
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
            fail(s.code(), problem);
            return std::nullopt;
        }
        return Entered{sqlite3_last_insert_rowid(db), true};
    }

    // @param which further condition, from AND on.
    std::optional<std::vector<Entry>> read(std::int64_t after, const char* which,
                                           Problem& problem) const {
        std::vector<Entry> out;
        if (version == 0) return out;
        const std::string sql =
            std::string(
                "SELECT id, happened, entered, mark, what, step, station, person, reason, "
                "by, device, ifnull(undoes, 0), ") +
            (version == 1 ? "'', 1" : "client, round") + " FROM entry WHERE id > ? " + which +
            " ORDER BY id";
        Statement s(db, sql.c_str());
        s.bind(after);
        while (s.row()) {
            const auto time = model::parse_date_time(s.text(1));
            const auto entered = model::parse_date_time(s.text(2));
            const auto mark = mark_of(s.text(3));
            if (!time || !entered || !mark) {
                problem = {
                    Kind::Damaged,
                    fmt::format("{}: entry {} cannot be read (\"{}\" at \"{}\"). It was written "
                                "by hand, or the file is damaged.",
                                path, s.number(0), s.text(3), s.text(1))};
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
            fail(s.code(), problem);
            return std::nullopt;
        }
        return out;
    }

    template <class Work>
    bool in_one_stroke(Work work, Problem& problem) const {
        if (!writing) {
            problem = {Kind::ReadOnly, path + " was opened for reading only."};
            return false;
        }
        if (!run("BEGIN IMMEDIATE", problem)) return false;
        if (work() && run("COMMIT", problem)) return true;
        sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr);
        return false;
    }
};

Journal::Journal(std::unique_ptr<File> file) : file_(std::move(file)) {}
Journal::Journal(Journal&&) noexcept = default;
Journal& Journal::operator=(Journal&&) noexcept = default;
Journal::~Journal() = default;

std::optional<Journal> Journal::open(const std::string& folder, For what, Problem& problem) {
    auto file = std::make_unique<File>();
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
                problem = {Kind::Refused, "a posted plan is entered with its document."};
                return false;
            }
            const auto one = file_->add_one(e, problem);
            if (!one) return false;
            out.push_back(*one);
        }
        return true;
    };
    if (!file_->in_one_stroke(all, problem)) return std::nullopt;
    return out;
}

std::optional<Entered> Journal::post(Entry entry, const PostedPlan& plan, Problem& problem) {
    entry.mark = Mark::Posted;
    entry.reason = plan.fingerprint;
    if (entry.what.empty()) entry.what = "plan";
    std::optional<Entered> out;
    const auto both = [&] {
        out = file_->add_one(entry, problem);
        if (!out || !out->fresh) return out.has_value();
        Statement s(
            file_->db,
            "INSERT INTO plan (entry, fingerprint, now, seen, document) VALUES (?,?,?,?,?)");
        const std::string now = plan.now ? stamp(*plan.now) : "";
        s.bind(out->id).bind(plan.fingerprint).bind(now).bind(plan.seen).bind(plan.document);
        s.row();
        return !s.failed() || file_->fail(s.code(), problem);
    };
    if (!file_->in_one_stroke(both, problem)) return std::nullopt;
    return out;
}

std::optional<std::vector<Entry>> Journal::entries(std::int64_t after, Problem& problem) const {
    return file_->read(after, "", problem);
}

std::optional<std::int64_t> Journal::last_id(Problem& problem) const {
    std::int64_t id = 0;
    if (file_->version == 0) return id;
    if (!file_->number("SELECT ifnull(max(id), 0) FROM entry", id, problem)) return std::nullopt;
    return id;
}

std::optional<PostedPlan> Journal::posted(Problem& problem) const {
    PostedPlan out;
    const auto all = file_->read(0, "AND mark IN ('posted', 'undo')", problem);
    if (!all) return std::nullopt;
    for (const Entry& e : in_force(*all)) {
        if (e.mark != Mark::Posted) continue;
        out.entry = e.id;
        out.time = e.time;
    }
    if (out.entry == 0) return out;
    Statement s(file_->db, "SELECT fingerprint, now, seen, document FROM plan WHERE entry = ?");
    s.bind(out.entry);
    if (!s.row()) {
        if (s.failed())
            file_->fail(s.code(), problem);
        else
            problem = {Kind::Damaged,
                       fmt::format("{}: the plan of entry {} is missing.", file_->path, out.entry)};
        return std::nullopt;
    }
    out.fingerprint = s.text(0);
    out.now = model::parse_date_time(s.text(1));
    out.seen = s.number(2);
    out.document = s.text(3);
    return out;
}

bool Journal::sound(Problem& problem) const {
    Statement s(file_->db, "PRAGMA integrity_check(1)");
    if (!s.row()) return !s.failed() || file_->fail(s.code(), problem);
    if (s.text(0) == "ok") return true;
    problem = {Kind::Damaged, file_->path + " is damaged (" + s.text(0) +
                                  "). Put it aside and copy the last good copy into its place."};
    return false;
}

}  // namespace sched::journal
