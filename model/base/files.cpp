#include "model/base/files.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace model {

namespace {

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

}  // namespace

std::optional<std::string> write_file_atomically(const std::filesystem::path& path,
                                                 std::string_view content) {
    const auto failed = [&](const char* what) {
        return path.string() + ": " + what + ": " + std::strerror(errno);
    };
    const std::filesystem::path folder =
        path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
    // O_EXCL on a name of this process: two writers do not share a temporary file.
    const std::string temporary = path.string() + ".part-" + std::to_string(::getpid());
    ::unlink(temporary.c_str());
    const int file =
        ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0644);
    if (file < 0) return failed("cannot create");
    const bool written = write_all(file, content) && ::fsync(file) == 0;
    std::optional<std::string> error;
    if (!written) error = failed("cannot write");
    if (::close(file) != 0 && !error) error = failed("cannot write");
    if (!error && ::rename(temporary.c_str(), path.c_str()) != 0) error = failed("cannot replace");
    if (error) {
        ::unlink(temporary.c_str());
        return error;
    }
    // The new name itself must reach the disk too; a file system that cannot sync a folder is no
    // error.
    const int directory = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (directory >= 0) {
        ::fsync(directory);
        ::close(directory);
    }
    return std::nullopt;
}

}  // namespace model
