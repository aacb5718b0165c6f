#pragma once
// Rows of a reference CSV (RFC 4180) whose second column is a JSON object of inputs.

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace study_test {

using Row = std::vector<std::string>;

/// All rows but the header. Fails hard (throws) when the file is missing: a test that reads nothing
/// must not pass.
inline std::vector<Row> read_table(const std::string& path) {
    std::ifstream file(path);
    if (!file) {
        throw std::runtime_error("cannot read " + path);
    }
    const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    std::vector<Row> rows(1, Row(1));
    bool quoted = false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (c == '"') {
            if (quoted && i + 1 < text.size() && text[i + 1] == '"') {
                rows.back().back() += c;
                ++i;
            } else {
                quoted = !quoted;
            }
        } else if (c == ',' && !quoted) {
            rows.back().emplace_back();
        } else if (c == '\n' && !quoted) {
            rows.emplace_back(1);
        } else if (c != '\r') {
            rows.back().back() += c;
        }
    }
    rows.erase(rows.begin());
    while (!rows.empty() && rows.back().size() < 3) {
        rows.pop_back();
    }
    return rows;
}

}  // namespace study_test
