#pragma once
// How much fits on a sheet of paper: widths of text in a sans-serif face of 11 pt, and which
// rows stand on which page, so that every page can say which of how many it is.

#include <string_view>
#include <utility>
#include <vector>

namespace sched::report::paper {

inline constexpr double line = 4.3;      // mm, of one line of text
inline constexpr double row_gap = 0.75;  // mm, around the lines of a table's row
/// mm of A4 with 8 mm of margin. On Letter the browser prints the same page a little smaller.
inline constexpr double height = 297.0 - 16.0 - 2.0;
inline constexpr double width = 210.0 - 16.0;

/// mm, rounded up a little: the printer's face may be wider.
double width_of(std::string_view text, bool bold = false);

/// Lines that the pieces take in a column, each piece unbroken, a blank between two.
/// @param pieces mm each.
int lines_of(const std::vector<double>& pieces, double column);
/// Its words, as pieces.
void add_words(std::vector<double>& pieces, std::string_view text, bool bold = false);

/// Rows [first, second) of each page, in order; at least one page.
/// @param heights mm of each row.  @param first room for rows on the first page, @param further on
/// the others.
std::vector<std::pair<std::size_t, std::size_t>> pages_of(const std::vector<double>& heights,
                                                          double first, double further);

}  // namespace sched::report::paper
