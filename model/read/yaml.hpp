#pragma once
// YAML text as a tree whose every value and key knows its place. Strict: one document, no anchors,
// aliases, tags or merge keys, no duplicate keys; every scalar stays the text that the user wrote.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/read/findings.hpp"

namespace model::read {

inline constexpr std::size_t yaml_most_bytes = std::size_t{1} << 20;
inline constexpr int yaml_deepest = 16;
inline constexpr int yaml_most_nodes = 20000;
inline constexpr std::size_t yaml_longest_text = 1000;

struct YamlNode {
    enum class Kind { Empty, Text, List, Mapping, Broken };  // Broken: reported already, skip it
    Kind kind = Kind::Empty;
    std::string text;             // Text
    std::vector<YamlNode> keys;   // Mapping: one Text per item
    std::vector<YamlNode> items;  // List and Mapping
    SourcePlace place;

    /// Value of the key, or nullptr. First match.
    const YamlNode* find(std::string_view key) const;
};

/// @param text clean UTF-8 (check_text).  @returns the root; nullopt after a syntax error.
std::optional<YamlNode> parse_yaml(std::string_view text, Findings& findings);

}  // namespace model::read
