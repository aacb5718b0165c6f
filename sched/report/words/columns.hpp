#pragma once
// Text in columns: one code point counts as one column (right for the scripts that a Latin, Greek
// or Cyrillic shop writes). Control characters of user text become '?', so that no name can steer a
// terminal.

#include <string>
#include <string_view>
#include <vector>

namespace sched::report {

std::size_t columns_of(std::string_view text);

/// Cut with "~" at the end, or filled with blanks, to exactly `width` columns.
std::string padded(std::string_view text, std::size_t width);

/// Cut to at most `width` columns.
std::string fitted(std::string_view text, std::size_t width);

/// Broken at blanks into rows of at most `width` columns; words longer than that are cut into
/// pieces.
std::vector<std::string> wrapped(std::string_view text, std::size_t width);

/// Without control characters and with broken UTF-8 replaced by '?'.
std::string printable(std::string_view text);

}  // namespace sched::report
