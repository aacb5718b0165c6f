#include "sched/report/plan/paper.hpp"

#include <algorithm>
#include <string>

namespace sched::report::paper {

namespace {

// Widths in 1/1000 of the size, by groups of letters: those of the widest of the usual faces
// (DejaVu Sans), so that a page holds in whichever face a machine has.
double letter(char c) {
    const std::string_view thin = "iljI.,:;'| ";
    const std::string_view narrow = "ftr()-[]/!";
    if ((c & 0xC0) == 0x80) return 0;  // goes on with the letter before
    if (thin.find(c) != std::string_view::npos) return 330;
    if (narrow.find(c) != std::string_view::npos) return 405;
    if (c == 'm' || c == 'M' || c == 'W') return 980;
    if (c == 'w' || static_cast<unsigned char>(c) >= 0xC0) return 840;
    if (c >= 'A' && c <= 'Z') return 710;
    return 630;
}

}  // namespace

double width_of(std::string_view text, bool bold) {
    constexpr double size = 11.0 * 25.4 / 72.0;  // mm
    double sum = 0;
    for (const char c : text)
        sum += letter(c);
    return sum / 1000.0 * size * (bold ? 1.11 : 1.0);
}

void add_words(std::vector<double>& pieces, std::string_view text, bool bold) {
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        if (end > 0) pieces.push_back(width_of(text.substr(0, end), bold));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
}

int lines_of(const std::vector<double>& pieces, double column) {
    const double blank = width_of(" ");
    int lines = 1;
    double used = 0;
    for (const double piece : pieces) {
        if (used > 0 && used + blank + piece > column) {
            ++lines;
            used = 0;
        }
        used += (used > 0 ? blank : 0) + piece;
        for (; used > column; used -= column)  // longer than a line: broken somewhere
            ++lines;
    }
    return lines;
}

std::vector<std::pair<std::size_t, std::size_t>> pages_of(const std::vector<double>& heights,
                                                          double first, double further) {
    std::vector<std::pair<std::size_t, std::size_t>> pages{{0, 0}};
    double left = first;
    for (std::size_t i = 0; i < heights.size(); ++i) {
        if (heights[i] > left && pages.back().second > pages.back().first) {
            pages.emplace_back(i, i);
            left = further;
        } else if (heights[i] > left && i == 0 && first < further) {
            pages.emplace_back(i, i);
            left = further;
        }
        left -= heights[i];
        pages.back().second = i + 1;
    }
    return pages;
}

}  // namespace sched::report::paper
