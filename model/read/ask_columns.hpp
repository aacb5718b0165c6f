#pragma once
// Headings that nobody knows yet, asked back once and then remembered in the head of the file.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace model::read {

/// A file of the office: its headings that are not known, and the columns that it may have.
struct UnknownHeadings {
    std::vector<std::string> headings;  // as they stand in the first line
    std::vector<std::string> known;
};

/// @param file "orders.csv" or "frames.csv".  @param text of it, clean UTF-8.
UnknownHeadings unknown_headings(std::string_view file, std::string_view text);

/// The text with "# columns: heading = column, ..." as its first line, one that is there extended;
/// "-" says that a heading is not read.
std::string with_columns_line(std::string_view text,
                              const std::vector<std::pair<std::string, std::string>>& answers);

}  // namespace model::read
