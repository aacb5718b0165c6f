// How it works: the new orders.csv is prepared beside the old one; then one transaction of the
// journal enters the promise with the lines that orders.csv gets, and the order is accepted; then
// the new file takes its place, and the journal notes that. A mark in the folder of orders.csv
// (record_name) says that an acceptance is under way, so that whoever takes the lock next, or reads
// the folder, completes one that was broken off.

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
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/kept_promises.hpp"
#include "sched/journal/journal.hpp"
#include "sched/report/document/fingerprint.hpp"

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

// Until the journal's transaction nothing has happened. In this file, in the folder of orders.csv,
// stands whose journal it is; it stays until orders.csv has the order.
constexpr const char* record_name = ".promise.pending";
// As it was when promises were a file as well: names of files that are to take their places.
constexpr const char* old_record_name = ".promise.accepted";

constexpr std::size_t most_orders_bytes = std::size_t{8} << 20;

// Of a name that nobody gives to a file of his own.
fs::path beside_of(const fs::path& path) {
    const std::string name = path.filename().string();
    return path.parent_path() / ((name.starts_with(".") ? "" : ".") + name + ".coming");
}
fs::path beside_as_it_was(const fs::path& path) {
    return path.string() + ".new";
}

// A text beside `path`, on the disk.
bool prepare(const fs::path& path, const std::string& text, std::string& problem) {
    struct stat old {};
    const mode_t mode = stat(path.c_str(), &old) == 0 ? old.st_mode & 0777 : 0644;
    const fs::path beside = beside_of(path);
    unlink(beside.c_str());  // of who died; neither a link nor a pipe is written into
    const int file =
        open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, mode);
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

void take_away(const fs::path& path) {
    unlink(path.c_str());
    sync_folder(path.parent_path());
}

// What is prepared beside it takes its place.
bool put_in_place(const fs::path& beside, const fs::path& path, std::string& problem) {
    if (rename(beside.c_str(), path.c_str()) != 0) {
        problem = path.string() + ": " + std::strerror(errno);
        return false;
    }
    sync_folder(path.parent_path());
    return true;
}

std::optional<model::SimTime> forecast(const study::Promise& promise, double level) {
    for (const auto& q : promise.quantiles) {
        if (q.level == level) return q.ready;
    }
    return std::nullopt;
}

// What is promised now, for learning from it when it is known what came of it.
model::PastPromise past_promise(const study::Promise& promise) {
    const auto& line = promise.enquiry.lines.front();
    return {.enquiry = promise.enquiry.name,
            .asked = promise.asked,
            .screens = promise.screens,
            .kind = line.mesh.value_or("") + ", " + line.coat_plan,
            .p50 = forecast(promise, 0.5),
            .p80 = forecast(promise, 0.8),
            .p90 = forecast(promise, 0.9),
            .p95 = forecast(promise, 0.95),
            .promised = *promise.recommended,
            .ready = std::nullopt,
            .place = {}};
}

fs::path target_of(const fs::path& given) {
    const fs::path path = model::link_target(given);
    std::error_code error;
    const fs::path folder = fs::canonical(path.parent_path(), error);
    return error ? path : folder / path.filename();
}

fs::path real_folder(const std::string& folder) {
    std::error_code error;
    const fs::path real = fs::canonical(folder, error);
    return error ? fs::path(folder) : real;
}

// A name where the file lies in the folder itself, which may be called otherwise or be moved until
// it is read.
std::string name_in(const fs::path& folder, const fs::path& path) {
    return path.parent_path() == folder ? path.filename().string() : path.string();
}

// The scenario's folder and, where its orders.csv is a link, the folder that it leads to: another
// scenario may lead there too. Always in the same order, so that no two wait for each other.
std::vector<fs::path> locked_folders(const std::string& folder) {
    std::vector<fs::path> folders{real_folder(folder)};
    const fs::path orders = target_of(fs::path(folder) / "orders.csv").parent_path();
    if (!orders.empty() && orders != folders.front()) folders.push_back(orders);
    std::sort(folders.begin(), folders.end());
    return folders;
}

// orders.csv gets the lines of an accepted order if it did not get them before the act was broken
// off. It has them if its text is the one that was meant; it has not if it is the one from before,
// or if what was prepared still lies beside it. Somebody may have changed it meanwhile: then the
// lines come behind what stands there now, and an order that was taken out again stays out.
bool place(const journal::Acceptance& order, const fs::path& path, std::string& problem) {
    const auto text = read_text(path.string(), most_orders_bytes);
    if (!text) {
        problem = path.string() + " cannot be read.";
        return false;
    }
    const std::string digest = report::sha256_hex(*text);
    const fs::path beside = beside_of(path);
    std::error_code error;
    const bool prepared = fs::is_regular_file(beside, error);
    const bool lacks = digest == order.before || (digest != order.after && prepared &&
                                                  !model::read::has_order(*text, order.enquiry));
    if (!lacks) {
        if (prepared) take_away(beside);
        return true;
    }
    const auto longer = model::read::with_lines(*text, order.lines, order.enquiry, problem);
    if (!longer) {
        problem = path.string() + " cannot get the accepted order " + order.enquiry + ": " +
                  problem + " Correct the file; the order's line is: " + order.lines;
        return false;
    }
    return prepare(path, *longer, problem) && put_in_place(beside, path, problem);
}

// Under the lock: what the journal of a folder has accepted and orders.csv has not got.
bool complete_journal(const fs::path& folder, std::string& problem) {
    using journal::Journal;
    if (!Journal::exists(folder.string())) return true;
    journal::Problem wrong;
    const auto look = Journal::open(folder.string(), Journal::For::Reading, wrong);
    const auto open = look ? look->not_placed(wrong) : std::nullopt;
    if (!open) {
        problem = wrong.words;
        return false;
    }
    if (open->empty()) return true;
    auto journal = Journal::open(folder.string(), Journal::For::Writing, wrong);
    if (!journal) {
        problem = wrong.words;
        return false;
    }
    for (const journal::Acceptance& order : *open) {
        if (!place(order, folder / order.orders, problem)) return false;  // an absolute one stays
        if (journal->placed(order.promise, clock_of_machine(), wrong)) continue;
        problem = wrong.words;
        return false;
    }
    return true;
}

// Files prepared by the program as it was take their places.
bool complete_old_record(const fs::path& folder, std::string& problem) {
    const fs::path record = folder / old_record_name;
    std::error_code error;
    if (!fs::exists(record, error)) return true;
    const auto text = read_text(record.string(), std::size_t{1} << 16);
    if (!text) {
        problem = record.string() + " cannot be read.";
        return false;
    }
    std::istringstream lines(*text);
    for (std::string line; std::getline(lines, line);) {
        const fs::path path = folder / line;  // an absolute one stays
        // What is in its place already stays.
        const fs::path beside = beside_as_it_was(path);
        if (fs::exists(beside, error) && !put_in_place(beside, path, problem)) return false;
    }
    take_away(record);
    return true;
}

// Under the lock, before anything is read.
bool complete(const fs::path& folder, std::string& problem) {
    if (!complete_old_record(folder, problem) || !complete_journal(folder, problem)) return false;
    const fs::path record = folder / record_name;
    std::error_code error;
    if (!fs::exists(record, error)) return true;
    const auto whose = read_text(record.string(), std::size_t{1} << 16);
    if (!whose) {
        problem = record.string() + " cannot be read.";
        return false;
    }
    // "." is this folder's; an absolute one is that of a scenario whose orders.csv leads here.
    if (!complete_journal(folder / *whose, problem)) return false;
    // Prepared for an order that the journal has not: it was broken off before.
    const fs::path beside = beside_of(target_of(folder / *whose / "orders.csv"));
    if (fs::is_regular_file(beside, error)) take_away(beside);
    take_away(record);
    return true;
}

}  // namespace

ScenarioLock::ScenarioLock(const std::string& folder, Wait wait) {
    const auto folders = locked_folders(folder);
    const bool all = std::all_of(folders.begin(), folders.end(),
                                 [&](const fs::path& f) { return take(f, wait); });
    const bool completed = all && std::all_of(folders.begin(), folders.end(),
                                              [&](const auto& f) { return complete(f, problem_); });
    if (!completed) release();
}

bool ScenarioLock::take(const fs::path& folder, Wait wait) {
    const std::string path = (folder / ".promise.lock").string();
    // The lock file stays: removing it would let two hold "the" lock.
    const int file = open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (file < 0) {
        problem_ = path + ": " + std::strerror(errno);
        return false;
    }
    files_.push_back(file);
    int got = flock(file, LOCK_EX | LOCK_NB);
    if (got != 0 && errno == EWOULDBLOCK && wait == Wait::Yes) {
        std::fprintf(stderr,
                     "coatroom: waiting until another program has changed its files in %s.\n",
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

ScenarioLock::~ScenarioLock() {
    release();
}

void complete_acceptances(const std::string& folder) {
    std::error_code error;
    const auto folders = locked_folders(folder);
    const bool broken_off = std::any_of(folders.begin(), folders.end(), [&](const fs::path& f) {
        return fs::exists(f / record_name, error) || fs::exists(f / old_record_name, error);
    });
    if (!broken_off) return;
    const ScenarioLock lock(folder, ScenarioLock::Wait::No);
}

Accepted accept_order(const std::string& folder, const study::Promise& promise,
                      std::string& problem) {
    if (!promise.recommended) {
        problem = promise.impossible.empty() ? "no time can be promised." : promise.impossible;
        return Accepted::No;
    }
    const fs::path path = target_of(fs::path(folder) / "orders.csv");
    const auto text = read_text(path.string(), most_orders_bytes);
    if (!text) {
        problem = path.string() + " cannot be read.";
        return Accepted::No;
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
    if (!longer) return Accepted::No;
    if (marked) longer->insert(0, mark);

    using journal::Journal;
    journal::Problem wrong;
    auto journal = Journal::open(folder, Journal::For::Writing, wrong);
    if (!journal) {
        problem = wrong.words;
        return Accepted::No;
    }
    if (!take_in_own_file(folder, *journal, problem)) return Accepted::No;
    const fs::path home = real_folder(folder);
    const fs::path record = path.parent_path() / record_name;
    const bool prepared =
        prepare(path, *longer, problem) &&
        prepare(record, home == path.parent_path() ? "." : home.string(), problem) &&
        put_in_place(beside_of(record), record, problem);
    // The lines with the end of the line before them, should that have had none.
    const journal::Acceptance meant{.enquiry = order.name,
                                    .orders = name_in(home, path),
                                    .lines = longer->substr(text->size()),
                                    .before = report::sha256_hex(*text),
                                    .after = report::sha256_hex(*longer)};
    const auto entered = prepared ? journal->accept(past_promise(promise), meant, wrong)
                                  : std::optional<std::int64_t>{};
    if (!entered) {
        if (problem.empty()) problem = wrong.words;
        // What is prepared stays for whoever can read the journal again.
        if (wrong.kind == journal::Problem::Kind::Unknown) return Accepted::Unknown;
        unlink(beside_of(record).c_str());
        take_away(beside_of(path));
        take_away(record);
        return Accepted::No;
    }
    // From here on it is accepted, whatever happens.
    std::string later;
    const bool placed = put_in_place(beside_of(path), path, later);
    if (placed && journal->placed(*entered, clock_of_machine(), wrong)) {
        take_away(record);
    } else if (!placed) {
        std::fprintf(stderr, "accepted, and written to the files when there is room again: %s\n",
                     later.c_str());
    }
    return Accepted::Yes;
}

}  // namespace sched::app
