// How it works: both files are prepared beside the old ones, a record of what is meant is written,
// then both take their places; under a lock, so that whoever comes next completes a broken act.

#include "sched/app/parts/accept.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <sstream>
#include <string_view>
#include <vector>

#include "model/base/files.hpp"
#include "model/read/enquiry_file.hpp"
#include "model/read/promise_file.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"

namespace sched::app {

namespace fs = std::filesystem;

namespace {

bool write_all(int file, const std::string& text) {
    std::size_t done = 0;
    while (done < text.size()) {
        const ssize_t n = write(file, text.data() + done, text.size() - done);
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) return false;
        done += static_cast<std::size_t>(n);
    }
    return true;
}

// How an acceptance is one act: both files are written beside the old ones and forced to the disk,
// then a record of what is meant, then both take their places. Until the record stands nothing has
// happened; from then on the order is accepted, and whoever takes the lock next completes what a
// kill or a full disk left undone.
constexpr const char* record_name = ".promise.accepted";

fs::path beside_of(const fs::path& path) {
    return path.string() + ".new";
}

// A text beside `path`, on the disk.
bool prepare(const fs::path& path, const std::string& text, std::string& problem) {
    struct stat old {};
    const mode_t mode = stat(path.c_str(), &old) == 0 ? old.st_mode & 0777 : 0644;
    const fs::path beside = beside_of(path);
    const int file = open(beside.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode);
    bool good = file >= 0 && write_all(file, text) && fsync(file) == 0;
    const int why = errno;
    if (file >= 0) good = close(file) == 0 && good;
    if (good) return true;
    problem = path.string() + ": " + std::strerror(why);
    unlink(beside.c_str());
    return false;
}

void sync_folder(const fs::path& folder) {
    const int file = open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (file < 0) return;
    fsync(file);
    close(file);
}

// What is prepared beside them takes the places of `paths`. What is in its place already stays.
bool put_in_place(const fs::path& record, const std::vector<fs::path>& paths,
                  std::string& problem) {
    for (const fs::path& path : paths) {
        if (rename(beside_of(path).c_str(), path.c_str()) != 0 && errno != ENOENT) {
            problem = path.string() + ": " + std::strerror(errno);
            return false;
        }
        sync_folder(path.parent_path());
    }
    unlink(record.c_str());
    sync_folder(record.parent_path());
    return true;
}

std::optional<model::SimTime> forecast(const study::Promise& promise, double level) {
    for (const auto& q : promise.quantiles) {
        if (q.level == level) return q.ready;
    }
    return std::nullopt;
}

// promises.csv with what is promised now, for learning from it when it is known what came of it.
std::optional<std::string> longer_journal(const fs::path& path, const study::Promise& promise,
                                          std::string& problem) {
    const auto& line = promise.enquiry.lines.front();
    const model::PastPromise row{.enquiry = promise.enquiry.name,
                                 .asked = promise.asked,
                                 .screens = promise.screens,
                                 .kind = line.mesh.value_or("") + ", " + line.coat_plan,
                                 .p50 = forecast(promise, 0.5),
                                 .p80 = forecast(promise, 0.8),
                                 .p90 = forecast(promise, 0.9),
                                 .p95 = forecast(promise, 0.95),
                                 .promised = *promise.recommended,
                                 .ready = std::nullopt};
    std::error_code error;
    std::string text;
    if (fs::exists(path, error)) {
        const auto old = read_text(path.string(), std::size_t{64} << 20);
        if (!old) {
            problem = path.string() + " cannot be read.";
            return std::nullopt;
        }
        text = *old;
    }
    return model::with_promise(text, row, problem);
}

fs::path target_of(const fs::path& given) {
    const fs::path path = model::link_target(given);
    std::error_code error;
    const fs::path folder = fs::canonical(path.parent_path(), error);
    return error ? path : folder / path.filename();
}

// In the record: a name where the file lies in the folder itself, which may be called otherwise or
// be moved until the record is read.
std::string record_line(const fs::path& path, const fs::path& folder) {
    std::error_code error;
    const bool inside = path.parent_path() == fs::canonical(folder, error) && !error;
    return (inside ? path.filename() : path).string() + "\n";
}

}  // namespace

// The scenario's folder and, where its orders.csv is a link, the folder that it leads to: another
// scenario may lead there too. Always in the same order, so that no two wait for each other.
ScenarioLock::ScenarioLock(const std::string& folder) {
    std::error_code error;
    const fs::path real = fs::canonical(folder, error);
    std::vector<fs::path> folders{error ? fs::path(folder) : real};
    const fs::path orders = target_of(fs::path(folder) / "orders.csv").parent_path();
    if (!orders.empty() && orders != folders.front()) folders.push_back(orders);
    std::sort(folders.begin(), folders.end());
    for (const fs::path& f : folders) {
        if (take(f) && complete(f)) continue;
        release();
        return;
    }
}

bool ScenarioLock::take(const fs::path& folder) {
    const std::string path = (folder / ".promise.lock").string();
    // The lock file stays: removing it would let two hold "the" lock.
    const int file = open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (file < 0) {
        problem_ = path + ": " + std::strerror(errno);
        return false;
    }
    files_.push_back(file);
    int got = flock(file, LOCK_EX | LOCK_NB);
    if (got != 0 && errno == EWOULDBLOCK) {
        std::fprintf(stderr, "coatroom promise: waiting until another acceptance in %s is done.\n",
                     folder.c_str());
        do {
            got = flock(file, LOCK_EX);
        } while (got != 0 && errno == EINTR && !interrupted());
    }
    if (got == 0) return true;
    problem_ = path + ": " + std::strerror(errno);
    return false;
}

void ScenarioLock::release() {
    for (const int file : files_)
        close(file);
    files_.clear();
}

// Under the lock, before anything is read.
bool ScenarioLock::complete(const fs::path& folder) {
    const fs::path record = folder / record_name;
    std::error_code error;
    if (!fs::exists(record, error)) return true;
    const auto text = read_text(record.string(), std::size_t{1} << 16);
    if (!text) {
        problem_ = record.string() + " cannot be read.";
        return false;
    }
    std::vector<fs::path> paths;
    std::istringstream lines(*text);
    for (std::string line; std::getline(lines, line);)
        paths.push_back(folder / line);  // an absolute one stays
    return put_in_place(record, paths, problem_);
}

ScenarioLock::~ScenarioLock() {
    release();
}

bool accept_order(const std::string& folder, const study::Promise& promise, std::string& problem) {
    if (!promise.recommended) {
        problem = promise.impossible.empty() ? "no time can be promised." : promise.impossible;
        return false;
    }
    const fs::path path = target_of(fs::path(folder) / "orders.csv");
    constexpr std::size_t limit = std::size_t{8} << 20;
    const auto text = read_text(path.string(), limit);
    if (!text) {
        problem = path.string() + " cannot be read.";
        return false;
    }
    const model::Order order{.name = promise.enquiry.name,
                             .customer = promise.enquiry.customer,
                             .due = *promise.recommended,
                             .priority = promise.enquiry.priority,
                             .lines = promise.enquiry.lines};
    // A byte-order mark stays where it is.
    constexpr std::string_view mark = "\xEF\xBB\xBF";
    const bool marked = text->starts_with(mark);
    const std::string_view plain =
        marked ? std::string_view(*text).substr(mark.size()) : std::string_view(*text);
    auto longer = model::read::with_order(plain, order, problem);
    if (!longer) return false;
    if (marked) longer->insert(0, mark);
    const fs::path journal = target_of(fs::path(folder) / model::promise_journal_name);
    const auto promises = longer_journal(journal, promise, problem);
    if (!promises) return false;
    const fs::path record = fs::path(folder) / record_name;
    const std::vector<fs::path> paths{path, journal};
    const std::string meant = record_line(path, folder) + record_line(journal, folder);
    if (!prepare(path, *longer, problem)) return false;
    if (!prepare(journal, *promises, problem)) {
        unlink(beside_of(path).c_str());
        return false;
    }
    if (!prepare(record, meant, problem) ||
        rename(beside_of(record).c_str(), record.c_str()) != 0) {
        if (problem.empty()) problem = record.string() + ": " + std::strerror(errno);
        for (const fs::path& p : {path, journal, record})
            unlink(beside_of(p).c_str());
        return false;
    }
    sync_folder(record.parent_path());
    // From here on it is accepted, whatever happens.
    std::string later;
    if (!put_in_place(record, paths, later)) {
        std::fprintf(stderr, "accepted, and written to the files when there is room again: %s\n",
                     later.c_str());
    }
    return true;
}

}  // namespace sched::app
