#pragma once
// A file as checked text: bounded size, valid UTF-8, no NUL, LF line ends on request; and how its
// positions count.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "model/read/findings.hpp"

namespace model::read {

/// NotYet: may be absent, and what a link names need not be there yet: the program will write it.
enum class Missing { Error, Allowed, NotYet };

/// Reads at most `limit` bytes of a regular file; larger, unreadable or (with Missing::Error)
/// absent files give an error. A byte-order mark is dropped. @returns nullopt when there is nothing
/// to read.
std::optional<std::string> load(const std::string& path, std::size_t limit, Missing missing,
                                Findings& findings);

/// Reports the first byte that is not UTF-8 (surrogates and overlong forms included) or is NUL.
/// @returns whether the text is clean.
bool check_text(std::string_view text, Findings& findings);

/// CRLF and lone CR become LF.
std::string with_plain_line_ends(std::string_view text);

/// Code points in text[from, to).
int code_points(std::string_view text, std::size_t from, std::size_t to);

/// Byte offset of a place; lines end with LF (a CR before it belongs to the line).
std::size_t byte_of(std::string_view text, const SourcePlace& place);

}  // namespace model::read
