// How it works: everything is first written beside its place under a name with this process's
// number. One file is renamed then; of several, a record with their names is renamed into the
// folder first, so that whoever finds it knows that all of them are there and may take their
// places.

#include "model/base/files.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <fstream>
#include <iterator>
#include <thread>

namespace model {

namespace fs = std::filesystem;

namespace {

constexpr const char* record_name = ".coatroom-written";
constexpr std::string_view part_mark = ".part-";
constexpr const char* held_words = "another program is writing there and does not end";

bool write_all(int descriptor, std::string_view content) {
    while (!content.empty()) {
        const ssize_t n = ::write(descriptor, content.data(), content.size());
        if (n < 0) {
            if (errno == EINTR) continue;
            return false;
        }
        content.remove_prefix(static_cast<std::size_t>(n));
    }
    return true;
}

std::string failed(const fs::path& path, const char* what) {
    return path.string() + ": " + what + ": " + std::strerror(errno);
}

fs::path part_of(const fs::path& path, const std::string& process = std::to_string(::getpid())) {
    return path.string() + std::string(part_mark) + process;
}

// The part of a path, on the disk; its mode that of what it will replace.
std::optional<std::string> write_part(const fs::path& path, std::string_view content) {
    const fs::path part = part_of(path);
    ::unlink(part.c_str());
    struct stat old {};
    const bool there = ::stat(path.c_str(), &old) == 0 && S_ISREG(old.st_mode);
    const mode_t mode = there ? old.st_mode & 0777 : 0644;
    // O_EXCL on a name of this process: two writers do not share a temporary file.
    const int file =
        ::open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, mode);
    if (file < 0) return failed(path, "cannot create");
    std::optional<std::string> error;
    if (!write_all(file, content) || ::fsync(file) != 0) error = failed(path, "cannot write");
    if (::close(file) != 0 && !error) error = failed(path, "cannot write");
    if (error) ::unlink(part.c_str());
    return error;
}

// Into a device or a pipe. A pipe that nobody reads is an error: waiting for a reader has no end.
std::optional<std::string> write_straight(const fs::path& path, std::string_view content) {
    const int file = ::open(path.c_str(), O_WRONLY | O_CLOEXEC | O_NONBLOCK);
    if (file < 0 && errno == ENXIO) return path.string() + ": cannot write: nobody reads this pipe";
    if (file < 0 || ::fcntl(file, F_SETFL, O_WRONLY) != 0) return failed(path, "cannot write");
    std::optional<std::string> error;
    if (!write_all(file, content)) error = failed(path, "cannot write");
    if (::close(file) != 0 && !error) error = failed(path, "cannot write");
    return error;
}

// A new name itself must reach the disk too; a file system that cannot sync a folder is no error.
void sync_folder(const fs::path& folder) {
    const int directory = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (directory < 0) return;
    ::fsync(directory);
    ::close(directory);
}

// While it lives no other process puts files of this folder in their places. Without a lock (some
// file systems have none) nothing is worse than it was before. Who has it needs it for a moment;
// one that is stopped meanwhile keeps nobody else waiting for good.
struct FolderLock {
    int file;
    bool busy = false;  // another has had it all the time

    FolderLock(const fs::path& folder, std::chrono::milliseconds patience)
        : file(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
        constexpr std::chrono::milliseconds pause{20};
        const auto until = std::chrono::steady_clock::now() + patience;
        while (file >= 0 && ::flock(file, LOCK_EX | LOCK_NB) != 0) {
            if (errno == EINTR) continue;
            busy = errno == EWOULDBLOCK && std::chrono::steady_clock::now() >= until;
            if (busy || errno != EWOULDBLOCK) return;
            std::this_thread::sleep_for(pause);
        }
    }
    ~FolderLock() {
        if (file >= 0) ::close(file);
    }
    FolderLock(const FolderLock&) = delete;
    FolderLock& operator=(const FolderLock&) = delete;
};

// @pre the lock. The record: the writer's number, then a name a line.
// @returns what could not be put in its place; then the record stays.
std::optional<std::string> complete_locked(const fs::path& folder) {
    const fs::path record = folder / record_name;
    std::error_code none;
    if (!fs::is_regular_file(record, none)) return std::nullopt;  // a pipe would never end
    std::ifstream in(record);
    std::string process;
    if (!in || !std::getline(in, process)) return std::nullopt;
    for (std::string name; std::getline(in, name);) {
        if (name.find('/') != std::string::npos) return std::nullopt;  // not ours
        const fs::path path = link_target(folder / name);
        // Not there: it is in its place already.
        if (::rename(part_of(path, process).c_str(), path.c_str()) != 0 && errno != ENOENT)
            return failed(path, "cannot replace");
    }
    in.close();
    sync_folder(folder);
    ::unlink(record.c_str());
    sync_folder(folder);
    return std::nullopt;
}

bool lives(std::string_view process) {
    pid_t number = 0;
    const char* const end = process.data() + process.size();
    const auto [stop, error] = std::from_chars(process.data(), end, number);
    if (error != std::errc{} || stop != end || number <= 0) return true;  // not one of ours
    return ::kill(number, 0) == 0 || errno != ESRCH;
}

// Parts of these names whose writer has died.
void bury_dead(const fs::path& folder, const std::vector<std::string>& names) {
    std::error_code error;
    for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
        const std::string name = it->path().filename().string();
        const std::size_t at = name.rfind(part_mark);
        if (at == std::string::npos || lives(std::string_view(name).substr(at + part_mark.size())))
            continue;
        if (std::find(names.begin(), names.end(), name.substr(0, at)) != names.end())
            ::unlink(it->path().c_str());
    }
}

}  // namespace

fs::path link_target(const fs::path& path) {
    constexpr int most_links = 40;  // as many as the system follows
    fs::path at = path;
    std::error_code error;
    for (int k = 0; k < most_links && fs::is_symlink(at, error); ++k) {
        const fs::path next = fs::read_symlink(at, error);
        if (error) break;
        at = at.parent_path() / next;
    }
    return at;
}

std::optional<std::string> write_file_atomically(const fs::path& given, std::string_view content) {
    struct stat there {};
    // By its own name: a link to a pipe (/dev/stdout) may lead to no name at all.
    if (::stat(given.c_str(), &there) == 0 && !S_ISREG(there.st_mode) && !S_ISDIR(there.st_mode))
        return write_straight(given, content);
    const fs::path path = link_target(given);
    if (auto error = write_part(path, content)) return error;
    if (::rename(part_of(path).c_str(), path.c_str()) != 0) {
        const auto error = failed(path, "cannot replace");
        ::unlink(part_of(path).c_str());
        return error;
    }
    const fs::path folder = path.has_parent_path() ? path.parent_path() : fs::path(".");
    sync_folder(folder);
    bury_dead(folder, {path.filename().string()});
    return std::nullopt;
}

std::optional<std::string> write_files_together(const fs::path& folder,
                                                const std::vector<NamedFile>& files,
                                                std::chrono::milliseconds patience) {
    std::error_code cause;
    fs::create_directories(folder, cause);
    if (cause) return folder.string() + ": cannot create: " + cause.message();
    complete_files(folder, patience);
    std::vector<std::string> names{record_name};
    for (const auto& file : files)
        names.push_back(file.first);
    bury_dead(folder, names);
    std::string record = std::to_string(::getpid()) + "\n";
    std::optional<std::string> error;
    std::vector<fs::path> parts;
    for (const auto& [name, make] : files) {
        const fs::path path = link_target(folder / name);
        struct stat there {};
        if (::stat(path.c_str(), &there) == 0 && !S_ISREG(there.st_mode))
            error = path.string() + ": cannot replace: this is no file";
        if (!error) error = write_part(path, make());
        if (error) break;
        parts.push_back(part_of(path));
        record += name + "\n";
    }
    if (!error) {
        const FolderLock lock(folder, patience);
        if (lock.busy) error = folder.string() + ": cannot replace: " + held_words;
        if (!error) error = complete_locked(folder);  // of another who died meanwhile
        std::error_code none;
        const auto in_the_way = fs::symlink_status(folder / record_name, none);
        if (!error && fs::exists(in_the_way) && !fs::is_regular_file(in_the_way))
            error = (folder / record_name).string() + ": cannot replace: this is no file";
        if (!error) error = write_file_atomically(folder / record_name, record);
        if (!error) return complete_locked(folder);
    }
    for (const fs::path& part : parts)
        ::unlink(part.c_str());
    return error;
}

void change_file(const fs::path& path,
                 const std::function<std::string(const std::string&)>& changed,
                 std::chrono::milliseconds patience) {
    const FolderLock lock(path.has_parent_path() ? path.parent_path() : fs::path("."), patience);
    if (lock.busy) return;
    std::ifstream in(path, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    if (!in) return;
    const std::string next = changed(text);
    if (next != text) (void)write_file_atomically(path, next);
}

void complete_files(const fs::path& folder, std::chrono::milliseconds patience) {
    std::error_code error;
    if (!fs::exists(folder / record_name, error)) return;
    const FolderLock lock(folder, patience);
    if (!lock.busy) complete_locked(folder);
}

}  // namespace model
