#pragma once
// Values of a YAML file changed in place: comments, order and spacing of the file stay.

#include <optional>
#include <string>
#include <variant>
#include <vector>

namespace model::read {

/// A key of a mapping, or the place of an item in a list (its size: one more, at the end).
using YamlStep = std::variant<std::string, std::size_t>;

/// What stands at the end of the path becomes `value`, YAML on one line ("4 min", "{by: Ben,
/// ...}"). What is not there yet is added at the end of its mapping or list, with the keys that
/// lead to it.
struct YamlEdit {
    std::vector<YamlStep> path;
    std::string value;
};

/// The text with all edits made, one after the other. Read back, it says what it said, and what the
/// edits say. @param text as it lies on the disk (a byte-order mark and CRLF are kept); empty: a
/// new file.
/// @returns nullopt and the reason for people in `problem` where a place cannot be changed so.
std::optional<std::string> with_values(const std::string& text, const std::vector<YamlEdit>& edits,
                                       std::string& problem);

}  // namespace model::read
