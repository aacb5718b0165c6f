#pragma once
// What is wrong with the user's input, in a form an editor can jump to. Readers collect
// diagnostics and go on; nothing here prints.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace model {

/// A position in a text file: line and column count from 1 (column in Unicode code points,
/// as editors show it); 0 = unknown (the whole file is meant).
struct SourcePlace {
    std::string file;
    int line = 0;
    int column = 0;
    friend bool operator==(const SourcePlace&, const SourcePlace&) = default;
};

enum class Severity { Error, Warning };

struct Diagnostic {
    SourcePlace place;
    Severity severity = Severity::Error;
    std::string code;     // stable short name, e.g. "unknown-key"
    std::string message;  // what is wrong, in the user's own names and values
    std::string hint;     // what to write instead; may be empty
    friend bool operator==(const Diagnostic&, const Diagnostic&) = default;
};

/// "orders.csv:14:9: error: ... hint (due-before-film)"
std::string to_text(const Diagnostic& d);

class Diagnostics {
public:
    void error(SourcePlace place, std::string code, std::string message, std::string hint = {});
    void warning(SourcePlace place, std::string code, std::string message, std::string hint = {});

    bool has_errors() const { return errors_ > 0; }
    std::size_t error_count() const { return errors_; }
    /// In the order found; `sorted()` orders by file (first seen first), line, column.
    const std::vector<Diagnostic>& all() const { return all_; }
    std::vector<Diagnostic> sorted() const;

private:
    std::vector<Diagnostic> all_;
    std::size_t errors_ = 0;
};

/// @returns the candidate closest to `word` by edit distance (insert, delete, replace, swap of
/// neighbours; case ignored), if the distance is at most a third of the word's length
/// (at least 1); empty otherwise. Ties: first in `candidates`.
std::string nearest_name(std::string_view word, const std::vector<std::string>& candidates);

}  // namespace model
