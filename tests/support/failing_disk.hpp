#pragma once
// A disk that begins to fail while SQLite writes: its default file system with every write, flush
// and cut refused from a moment on, which are the calls that a real one answers with EIO. For
// tests.

#include <sqlite3.h>

#include <map>

namespace failing_disk {

enum class Fails { No, Once, FromThenOn };

struct State {
    Fails fails = Fails::No;  // at the next flush of a log
    bool failing = false;
};

inline State& state() {
    static State one;
    return one;
}

// A table of calls for each of SQLite's own: files with and without locks have different ones.
struct Calls {
    sqlite3_io_methods failing{};
    const sqlite3_io_methods* plain = nullptr;
};

inline const sqlite3_io_methods& plain(const sqlite3_file* f) {
    return *reinterpret_cast<const Calls*>(f->pMethods)->plain;
}

inline int write(sqlite3_file* f, const void* bytes, int n, sqlite3_int64 at) {
    return state().failing ? SQLITE_IOERR_WRITE : plain(f).xWrite(f, bytes, n, at);
}

inline int truncate(sqlite3_file* f, sqlite3_int64 size) {
    return state().failing ? SQLITE_IOERR_TRUNCATE : plain(f).xTruncate(f, size);
}

inline int sync(sqlite3_file* f, int flags) {
    State& s = state();
    if (s.failing) return SQLITE_IOERR_FSYNC;
    if (s.fails == Fails::No) return plain(f).xSync(f, flags);
    s.failing = s.fails == Fails::FromThenOn;
    s.fails = Fails::No;
    return SQLITE_IOERR_FSYNC;
}

inline sqlite3_vfs*& machine() {
    static sqlite3_vfs* one = nullptr;
    return one;
}

inline int open(sqlite3_vfs*, sqlite3_filename name, sqlite3_file* f, int flags, int* got) {
    const int code = machine()->xOpen(machine(), name, f, flags, got);
    if (code != SQLITE_OK || f->pMethods == nullptr) return code;
    static std::map<const sqlite3_io_methods*, Calls> all;
    Calls& calls = all[f->pMethods];
    calls.failing = *f->pMethods;
    calls.plain = f->pMethods;
    calls.failing.xWrite = write;
    calls.failing.xTruncate = truncate;
    calls.failing.xSync = sync;
    f->pMethods = &calls.failing;
    return code;
}

/// While it lives SQLite's files of this process lie on that disk; sound until it is told to fail.
class Disk {
public:
    Disk() {
        machine() = sqlite3_vfs_find(nullptr);
        vfs_ = *machine();
        vfs_.zName = "failing";
        vfs_.xOpen = open;
        sqlite3_vfs_register(&vfs_, 1);
    }
    ~Disk() {
        state() = {};
        sqlite3_vfs_unregister(&vfs_);
        sqlite3_vfs_register(machine(), 1);
    }
    Disk(const Disk&) = delete;
    Disk& operator=(const Disk&) = delete;
    void fails_at_next_flush(Fails how) { state().fails = how; }
    void works_again() { state() = {}; }

private:
    sqlite3_vfs vfs_{};
};

}  // namespace failing_disk
