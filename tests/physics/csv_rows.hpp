#pragma once
// Check values of tests/data/physics: RFC 4180 rows by column name.

#include <fstream>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

namespace physics_test {

using Row = std::map<std::string, std::string>;

inline std::vector<std::string> split_row(const std::string& line) {
    std::vector<std::string> cells(1);
    bool quoted = false;
    for (char c : line) {
        if (c == '"') {
            quoted = !quoted;
        } else if (c == ',' && !quoted) {
            cells.emplace_back();
        } else if (c != '\r') {
            cells.back() += c;
        }
    }
    return cells;
}

inline std::vector<Row> read_rows(const std::string& name) {
    std::ifstream in(std::string(COATROOM_TEST_DATA) + "/data/physics/" + name);
    if (!in) throw std::runtime_error("no check values: " + name);
    std::string line;
    std::getline(in, line);
    const auto head = split_row(line);
    std::vector<Row> rows;
    while (std::getline(in, line)) {
        const auto cells = split_row(line);
        if (cells.size() != head.size()) throw std::runtime_error(name + ": bad row " + line);
        Row row;
        for (std::size_t i = 0; i < head.size(); ++i)
            row[head[i]] = cells[i];
        rows.push_back(row);
    }
    return rows;
}

/// Column `value` by `id`.
class Values {
public:
    explicit Values(const std::string& name) {
        for (const Row& row : read_rows(name))
            rows_[row.at("id")] = row;
    }
    double operator[](const std::string& id) const { return std::stod(rows_.at(id).at("value")); }
    std::string note(const std::string& id) const { return rows_.at(id).at("note"); }
    const std::map<std::string, Row>& rows() const { return rows_; }

private:
    std::map<std::string, Row> rows_;
};

}  // namespace physics_test
