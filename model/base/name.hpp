#pragma once
// What is a name: the one place that decides it, for files, command line, board and `begin`.

#include <string>
#include <string_view>

namespace model {

/// Why the text is no name, to stand behind it ("is empty"); "" when it is one: 1 to 120 bytes of
/// which something is seen, without line breaks, control characters and what turns the direction
/// of writing. @param text clean UTF-8
std::string name_problem(std::string_view text);

}  // namespace model
