#pragma once
// Files written whole or not at all, one or several together.

#include <chrono>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace model {

/// Where a link, or a link to a link, leads, there or not yet: what is there is replaced, not the
/// link. What is no link stays as it is.
std::filesystem::path link_target(const std::filesystem::path& path);

/// Writes `content` to a temporary file beside `path`, flushes it to the disk and renames it over
/// `path`: whoever reads sees the old file or the new one, also after a power cut. The folder must
/// exist. Mode of a new file 0644 less the umask. Of a link, what it leads to is replaced; into
/// what is no file (a device, a pipe somebody reads) it is written straight. Temporary files of
/// this name whose writer has died are taken away.
/// @returns what went wrong, for people; nullopt when done (then no temporary file is left).
std::optional<std::string> write_file_atomically(const std::filesystem::path& path,
                                                 std::string_view content);

/// A file of several: its name in the folder, and what makes its content when its turn comes.
using NamedFile = std::pair<std::string, std::function<std::string()>>;

/// Writes the files of a folder, which is made if need be, as one act: all of them are written
/// beside the old ones and flushed, then a record says so, then they take their places. Before the
/// record nothing has changed; after it the act is done, and whoever comes next completes what a
/// kill left undone (complete_files). What dead writers left behind is taken away.
/// @returns what went wrong, for people: then all files are as they were, or, where one could not
/// be renamed, the record stays and the next call goes on.
/// @param patience for another program that writes there; most take a moment.
std::optional<std::string> write_files_together(
    const std::filesystem::path& folder, const std::vector<NamedFile>& files,
    std::chrono::milliseconds patience = std::chrono::seconds{5});

/// Changes a file while no result that is written together takes its place: `changed` gets what
/// stands there then. Where nothing changes, or another program is at it for longer than
/// `patience`, or it cannot be read or written, it stays as it is.
void change_file(const std::filesystem::path& path,
                 const std::function<std::string(const std::string&)>& changed,
                 std::chrono::milliseconds patience = std::chrono::seconds{5});

/// Puts in their places what a killed write_files_together had recorded, before its folder is read.
/// Does nothing where there is nothing to complete, where it may not be written, or where another
/// program is at it for longer than `patience`.
void complete_files(const std::filesystem::path& folder,
                    std::chrono::milliseconds patience = std::chrono::seconds{5});

}  // namespace model
