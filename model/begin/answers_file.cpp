#include "model/begin/answers_file.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/read/findings.hpp"

namespace model::begin {

std::optional<std::vector<Answer>> read_answers(std::string_view text, const std::string& file,
                                                Diagnostics& diagnostics) {
    read::Findings findings(file, diagnostics);
    std::vector<std::string> keys;
    std::vector<Answer> out;
    for (const Question& q : questions()) {
        keys.emplace_back(q.key);
        out.push_back({settled(q, ""), 0, 0});
    }
    const std::size_t before = diagnostics.error_count();
    for (int number = 1; !text.empty(); ++number) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        std::string_view row = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        const std::size_t first = row.find_first_not_of(" \t\r");
        if (first == std::string_view::npos || row[first] == '#') continue;
        const std::size_t colon = row.find(':');
        const std::string_view key = row.substr(first, std::min(colon, row.size()) - first);
        const auto at = std::find(keys.begin(), keys.end(), key);
        const SourcePlace place{file, number, static_cast<int>(first) + 1};
        if (colon == std::string_view::npos || at == keys.end()) {
            findings.error(place, "unknown-question",
                           fmt::format("{} answers no question.", read::in_quotes(key)),
                           "Write one of these words and a colon: " + read::name_list(keys) + ".");
            continue;
        }
        const auto n = static_cast<std::size_t>(at - keys.begin());
        if (out[n].line > 0) {
            findings.error(
                place, "double-answer",
                fmt::format("{} stands in line {} already.", read::in_quotes(key), out[n].line),
                "Keep one of the two.");
            continue;
        }
        out[n] = {settled(questions()[n], row.substr(colon + 1)), number,
                  static_cast<int>(colon) + 2};
    }
    if (diagnostics.error_count() > before) return std::nullopt;
    return out;
}

std::optional<Shop> shop_of(const std::vector<Answer>& answers, const std::string& file,
                            Diagnostics& diagnostics) {
    Shop shop;
    bool good = true;
    for (std::size_t i = 0; i < questions().size(); ++i) {
        const std::string problem = answer(questions()[i].key, answers[i].text, shop);
        if (problem.empty()) continue;
        good = false;
        diagnostics.error({file, std::max(1, answers[i].line), std::max(1, answers[i].column)},
                          "bad-answer", fmt::format("{}: {}", questions()[i].key, problem),
                          problem.ends_with('.') ? "" : "");
        // What comes after builds on it.
        if (!answer(questions()[i].key, settled(questions()[i], ""), shop).empty()) return {};
    }
    if (!good) return std::nullopt;
    return shop;
}

}  // namespace model::begin
