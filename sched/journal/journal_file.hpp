#pragma once
// The open file behind a Journal, and SQLite's statements: inside this folder only.

#include <sqlite3.h>

#include <cstdint>
#include <string>

#include "sched/journal/journal.hpp"

namespace sched::journal {

/// A prepared statement; texts are bound as they are, without copies: they outlive the step.
class Statement {
public:
    Statement(sqlite3* db, const char* sql) {
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
    sqlite3_stmt* statement_ = nullptr;
    int code_ = SQLITE_OK;
    int bound_ = 0;
};

/// A file and what was found when it was opened.
struct JournalFile {
    sqlite3* db = nullptr;
    std::string path;
    std::int64_t version = 0;  // of its tables; 0: none yet
    bool writing = false;

    JournalFile() = default;
    JournalFile(const JournalFile&) = delete;
    JournalFile& operator=(const JournalFile&) = delete;
    ~JournalFile() { sqlite3_close_v2(db); }

    bool open(Journal::For what, Problem& problem);

    /// @returns false, always, with `problem`.
    bool fail(int code, Problem& problem) const;
    bool run(const char* sql, Problem& problem) const;
    bool number(const char* sql, std::int64_t& out, Problem& problem) const;
    /// The statement's one step, which gives no row.
    bool done(Statement& statement, Problem& problem) const;

    /// One transaction: what `work` did stands when it returned true and true comes back.
    template <class Work>
    bool in_one_stroke(Work work, Problem& problem) const {
        if (!writing) {
            problem = {Problem::Kind::ReadOnly, path + " was opened for reading only."};
            return false;
        }
        if (!run("BEGIN IMMEDIATE", problem)) return false;
        if (work()) return commit(problem);
        sqlite3_exec(db, "ROLLBACK", nullptr, nullptr, nullptr);
        return false;
    }

private:
    bool commit(Problem& problem) const;
    bool look(Problem& problem);
    bool migrate(Problem& problem);
    bool settings(Problem& problem) const;
    int connect(const std::string& name, int flags);
    std::string as_uri() const;
};

/// Entries with an id above `after`. @param which further condition, from AND on.
std::optional<std::vector<Entry>> read_entries(const JournalFile& file, std::int64_t after,
                                               const char* which, Problem& problem);
/// @pre within in_one_stroke.
std::optional<Entered> enter_one(const JournalFile& file, const Entry& entry, Problem& problem);

}  // namespace sched::journal
