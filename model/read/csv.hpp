#pragma once
// CSV text as rows of cells that know their place. Comma, semicolon or tab, found from the header
// line; quoted cells with line breaks; CRLF; lines that begin with "# " are comments; a byte-order
// mark is gone already.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/read/findings.hpp"

namespace model::read {

inline constexpr std::size_t csv_most_bytes = std::size_t{8} << 20;
inline constexpr std::size_t csv_most_rows = 20000;
inline constexpr std::size_t csv_most_cells = 64;
inline constexpr std::size_t csv_longest_text = 1000;

struct CsvCell {
    std::string text;
    SourcePlace place;
};

struct CsvRow {
    std::vector<CsvCell> cells;
    SourcePlace place;
};

/// @param text clean UTF-8 (check_text).  @returns all rows, the header first, blank lines dropped;
/// nullopt after an error that leaves the rest unreadable. More lines than `most` are an error.
std::optional<std::vector<CsvRow>> parse_csv(std::string_view text, Findings& findings,
                                             std::size_t most = csv_most_rows);

/// What separates the cells of such a text: what stands most often outside quotes in the first
/// line.
char csv_separator(std::string_view text);

/// A value as a cell of a file: quoted where it would be read otherwise.
std::string csv_cell(const std::string& value, char separator);

}  // namespace model::read
