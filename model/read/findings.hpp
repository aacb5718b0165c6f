#pragma once
// Where a reader puts what it finds wrong in one file; stops a hostile file from filling memory
// with complaints.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "model/base/diagnostic.hpp"

namespace model::read {

/// Most errors reported for one file; one more says that the rest was left out.
inline constexpr int most_findings = 100;

class Findings {
public:
    Findings(std::string file, Diagnostics& sink) : file_(std::move(file)), sink_(sink) {}

    const std::string& file() const { return file_; }
    SourcePlace whole_file() const { return {file_, 1, 1}; }

    void error(const SourcePlace& place, std::string code, std::string message,
               std::string hint = {}) {
        if (!room_for(place)) return;
        sink_.error(place, std::move(code), std::move(message), std::move(hint));
    }
    void warning(const SourcePlace& place, std::string code, std::string message,
                 std::string hint = {}) {
        if (!room_for(place)) return;
        sink_.warning(place, std::move(code), std::move(message), std::move(hint));
    }
    int count() const { return count_; }

private:
    bool room_for(const SourcePlace& place) {
        ++count_;
        if (count_ == most_findings + 1) {
            sink_.error(place, "too-many-errors",
                        "more than " + std::to_string(most_findings) +
                            " things are wrong in this file; the rest is not listed.",
                        "Mend the first ones and check again.");
        }
        return count_ <= most_findings;
    }

    std::string file_;
    Diagnostics& sink_;
    int count_ = 0;
};

/// The user's own text between quotes, shortened to about 40 characters, control characters as "?".
std::string in_quotes(std::string_view text);

/// " Did you mean \"...\"?" for the nearest of `names`, or "".
std::string did_you_mean(std::string_view word, const std::vector<std::string>& names);

/// "a, b, c" of at most `most` names.
std::string name_list(const std::vector<std::string>& names, std::size_t most = 12);

}  // namespace model::read
