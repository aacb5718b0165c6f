#pragma once
// Files written whole or not at all.

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace model {

/// Writes `content` to a temporary file beside `path`, flushes it to the disk and renames it over
/// `path`: whoever reads sees the old file or the new one, also after a power cut. The folder must
/// exist. Mode of a new file 0644 less the umask.
/// @returns what went wrong, for people; nullopt when done (then no temporary file is left).
std::optional<std::string> write_file_atomically(const std::filesystem::path& path,
                                                 std::string_view content);

}  // namespace model
