#include "model/base/diagnostic.hpp"

#include <algorithm>
#include <cctype>
#include <utility>

namespace model {

namespace {

// Optimal string alignment distance (Damerau's four edits, no substring edited twice).
std::size_t edit_distance(const std::string& a, const std::string& b) {
    const std::size_t n = a.size();
    const std::size_t m = b.size();
    std::vector<std::vector<std::size_t>> d(n + 1, std::vector<std::size_t>(m + 1));
    for (std::size_t i = 0; i <= n; ++i)
        d[i][0] = i;
    for (std::size_t j = 0; j <= m; ++j)
        d[0][j] = j;
    for (std::size_t i = 1; i <= n; ++i) {
        for (std::size_t j = 1; j <= m; ++j) {
            const std::size_t cost = a[i - 1] == b[j - 1] ? 0 : 1;
            d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + cost});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
            }
        }
    }
    return d[n][m];
}

std::string lower_case(std::string_view text) {
    std::string out(text);
    for (char& c : out)
        c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return out;
}

}  // namespace

std::string to_text(const Diagnostic& d) {
    std::string out = d.place.file;
    if (d.place.line > 0) {
        out +=
            ":" + std::to_string(d.place.line) + ":" + std::to_string(std::max(d.place.column, 1));
    }
    out += d.severity == Severity::Error ? ": error: " : ": warning: ";
    out += d.message;
    if (!d.hint.empty()) out += " " + d.hint;
    out += " (" + d.code + ")";
    return out;
}

void Diagnostics::error(SourcePlace place, std::string code, std::string message,
                        std::string hint) {
    all_.push_back(
        {std::move(place), Severity::Error, std::move(code), std::move(message), std::move(hint)});
    ++errors_;
}

void Diagnostics::warning(SourcePlace place, std::string code, std::string message,
                          std::string hint) {
    all_.push_back({std::move(place), Severity::Warning, std::move(code), std::move(message),
                    std::move(hint)});
}

std::vector<Diagnostic> Diagnostics::sorted() const {
    std::vector<std::string> files;
    for (const auto& d : all_) {
        if (std::find(files.begin(), files.end(), d.place.file) == files.end())
            files.push_back(d.place.file);
    }
    const auto rank = [&](const std::string& f) {
        return std::find(files.begin(), files.end(), f) - files.begin();
    };
    std::vector<Diagnostic> out = all_;
    std::stable_sort(out.begin(), out.end(), [&](const Diagnostic& a, const Diagnostic& b) {
        const auto ra = rank(a.place.file);
        const auto rb = rank(b.place.file);
        if (ra != rb) return ra < rb;
        if (a.place.line != b.place.line) return a.place.line < b.place.line;
        return a.place.column < b.place.column;
    });
    return out;
}

std::string nearest_name(std::string_view word, const std::vector<std::string>& candidates) {
    if (word.size() > 64) return {};
    const std::string wanted = lower_case(word);
    const std::size_t allowed = std::max<std::size_t>(1, word.size() / 3);
    std::size_t best = allowed + 1;
    std::string found;
    for (const auto& candidate : candidates) {
        const std::size_t distance = edit_distance(wanted, lower_case(candidate));
        if (distance < best) {
            best = distance;
            found = candidate;
        }
    }
    return found;
}

}  // namespace model
