#include "sched/app/parts/accept.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "model/read/enquiry_file.hpp"
#include "model/read/promise_file.hpp"
#include "sched/app/parts/files.hpp"

namespace sched::app {

namespace fs = std::filesystem;

ScenarioLock::ScenarioLock(const std::string& folder) {
    const std::string path = (fs::path(folder) / ".promise.lock").string();
    // The lock file stays: removing it would let two hold "the" lock.
    file_ = open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (file_ < 0) {
        problem_ = path + ": " + std::strerror(errno);
        return;
    }
    int got = -1;
    do {
        got = flock(file_, LOCK_EX);
    } while (got != 0 && errno == EINTR);
    if (got != 0) {
        problem_ = path + ": " + std::strerror(errno);
        close(file_);
        file_ = -1;
    }
}

ScenarioLock::~ScenarioLock() {
    if (file_ >= 0) close(file_);
}

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

// Written beside it, on the disk, then renamed over it.
bool replace_file(const fs::path& path, const std::string& text, std::string& problem) {
    struct stat old {};
    const mode_t mode = stat(path.c_str(), &old) == 0 ? old.st_mode & 0777 : 0644;
    const fs::path beside = path.string() + ".new";
    const int file = open(beside.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode);
    bool good = file >= 0 && write_all(file, text) && fsync(file) == 0;
    if (file >= 0) good = close(file) == 0 && good;
    good = good && rename(beside.c_str(), path.c_str()) == 0;
    if (!good) {
        problem = path.string() + ": " + std::strerror(errno);
        unlink(beside.c_str());
        return false;
    }
    const int folder = open(path.parent_path().c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder >= 0) {
        fsync(folder);  // the new name too
        close(folder);
    }
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
    if (text.empty()) text = model::promise_heading();
    if (text.find(model::promise_heading()) == std::string::npos) {
        problem = path.string() +
                  " has other columns than this program writes: " + model::promise_heading();
        return std::nullopt;
    }
    if (text.back() != '\n') text += '\n';
    return text + model::promise_row(row);
}

}  // namespace

bool accept_order(const std::string& folder, const study::Promise& promise, std::string& problem) {
    if (!promise.recommended) {
        problem = promise.impossible.empty() ? "no time can be promised." : promise.impossible;
        return false;
    }
    // Where the file is a link, what it leads to is replaced, not the link.
    std::error_code error;
    fs::path path = fs::path(folder) / "orders.csv";
    if (const auto real = fs::canonical(path, error); !error) path = real;
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
    const auto longer = model::read::with_order(*text, order, problem);
    if (!longer) return false;
    const fs::path journal = fs::path(folder) / model::promise_journal_name;
    const auto promises = longer_journal(journal, promise, problem);
    if (!promises) return false;
    return replace_file(path, *longer, problem) && replace_file(journal, *promises, problem);
}

}  // namespace sched::app
