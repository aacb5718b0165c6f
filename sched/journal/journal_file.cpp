// How it works: a file is opened, looked at (is it a journal, of which version) and only then
// written to. Every change is one immediate transaction, in WAL mode with synchronous=FULL: when
// COMMIT returns, the disk has it. What SQLite complains of becomes one of few kinds of problem.

#include "sched/journal/journal_file.hpp"

#include <fmt/format.h>

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

}  // namespace

bool JournalFile::fail(int code, Problem& problem) const {
    problem = problem_of(db, code, path);
    return false;
}

bool JournalFile::run(const char* sql, Problem& problem) const {
    const int code = sqlite3_exec(db, sql, nullptr, nullptr, nullptr);
    return code == SQLITE_OK || fail(code, problem);
}

bool JournalFile::number(const char* sql, std::int64_t& out, Problem& problem) const {
    Statement s(db, sql);
    if (s.row()) out = s.number(0);
    return !s.failed() || fail(s.code(), problem);
}

bool JournalFile::done(Statement& statement, Problem& problem) const {
    statement.row();
    return !statement.failed() || fail(statement.code(), problem);
}

// A commit that fails when all is written, but not on the disk yet, leaves it whole in the log:
// whoever opens the file next would take it for entered. So the log is emptied; where that fails
// too, or somebody reads it, nobody knows.
bool JournalFile::commit(Problem& problem) const {
    const int code = sqlite3_exec(db, "COMMIT", nullptr, nullptr, nullptr);
    if (code == SQLITE_OK) return true;
    fail(code, problem);
    sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr);
    const bool all_written =
        (code & 0xff) == SQLITE_IOERR && code != SQLITE_IOERR_WRITE && code != SQLITE_IOERR_READ;
    if (!all_written) return false;
    std::int64_t busy = 1;
    Problem again;
    if (number("PRAGMA wal_checkpoint(TRUNCATE)", busy, again) && busy == 0) return false;
    problem = {Kind::Unknown,
               fmt::format("{}: the disk failed when all was written ({}). It may stand there all "
                           "the same: look when the disk works again, before you do it once more.",
                           path, sqlite3_errstr(code))};
    return false;
}

// What lies there: an empty file is a journal to be; another program's is left alone.
bool JournalFile::look(Problem& problem) {
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
    version = said;
    return true;
}

bool JournalFile::migrate(Problem& problem) {
    if (version == schema_version) return true;
    if (!run("BEGIN IMMEDIATE", problem)) return false;
    // Another program may have done it meanwhile.
    bool done = look(problem);
    for (auto step = std::next(migrations.begin(), version); done && step != migrations.end();
         ++step)
        done = run(*step, problem);
    const std::string stamp = fmt::format("PRAGMA application_id={}; PRAGMA user_version={}",
                                          application_id, schema_version);
    done = done && run(stamp.c_str(), problem) && run("COMMIT", problem);
    if (!done) sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr);
    if (done) version = schema_version;
    return done;
}

bool JournalFile::open(Journal::For what, Problem& problem) {
    std::error_code error;
    const auto status = fs::status(path, error);
    const bool there = fs::exists(status);
    if (there && !fs::is_regular_file(status)) {
        problem = {Kind::Damaged, path + " is no file. Move it elsewhere."};
        return false;
    }
    writing = what == Journal::For::Writing;
    if (!there && !writing) {
        problem = {Kind::Missing, path + " is not there: nothing has been marked."};
        return false;
    }
    const int flags = writing ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY;
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
bool JournalFile::settings(Problem& problem) const {
    constexpr auto pause = std::chrono::milliseconds(5);
    for (int waited = 0;; waited += 5) {
        if (run("PRAGMA journal_mode=WAL", problem)) break;
        if (problem.kind != Kind::Busy || waited > patience_ms) return false;
        std::this_thread::sleep_for(pause);
    }
    problem = {};
    return run("PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON", problem);
}

int JournalFile::connect(const std::string& name, int flags) {
    sqlite3_close_v2(db);
    db = nullptr;
    const int code = sqlite3_open_v2(name.c_str(), &db, flags | SQLITE_OPEN_EXRESCODE, nullptr);
    if (code == SQLITE_OK) sqlite3_busy_timeout(db, patience_ms);
    return code;
}
std::string JournalFile::as_uri() const {
    std::string uri = "file:";
    for (const char c : path) {
        const bool plain = std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '/' ||
                           c == '.' || c == '-' || c == '_';
        uri += plain ? std::string(1, c)
                     : fmt::format("%{:02x}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    }
    return uri + "?immutable=1";
}

}  // namespace sched::journal
