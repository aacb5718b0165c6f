#include "sched/report/words/columns.hpp"

#include <algorithm>

namespace sched::report {

namespace {

/// Bytes of the code point that starts at `at`; 0 if it is not well formed (RFC 3629).
std::size_t utf8_length(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) {
        return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0u;
    };
    const auto tail = [&](std::size_t i) { return (byte(i) & 0xC0u) == 0x80u; };
    const unsigned lead = byte(0);
    if (lead < 0x80) return 1;
    if (lead >= 0xC2 && lead <= 0xDF && tail(1)) return 2;
    if (lead >= 0xE0 && lead <= 0xEF && tail(1) && tail(2)) {
        const bool overlong = lead == 0xE0 && byte(1) < 0xA0;
        const bool surrogate = lead == 0xED && byte(1) >= 0xA0;
        return overlong || surrogate ? 0 : 3;
    }
    if (lead >= 0xF0 && lead <= 0xF4 && tail(1) && tail(2) && tail(3)) {
        const bool outside = (lead == 0xF0 && byte(1) < 0x90) || (lead == 0xF4 && byte(1) >= 0x90);
        return outside ? 0 : 4;
    }
    return 0;
}

/// Text up to `width` columns of a printable text.
std::string_view head_of(std::string_view text, std::size_t width) {
    std::size_t at = 0;
    for (std::size_t n = 0; n < width && at < text.size(); ++n) {
        at += std::max<std::size_t>(utf8_length(text, at), 1);
    }
    return text.substr(0, at);
}

}  // namespace

std::string printable(std::string_view text) {
    std::string out;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = utf8_length(text, at);
        const auto first = static_cast<unsigned char>(text[at]);
        // C0, DEL and the C1 block (U+0080 to U+009F) steer terminals.
        const bool c1 =
            length == 2 && first == 0xC2 && static_cast<unsigned char>(text[at + 1]) < 0xA0;
        if (length == 0 || first < 0x20 || first == 0x7F || c1) {
            out += '?';
        } else {
            out += text.substr(at, length);
        }
        at += std::max<std::size_t>(length, 1);
    }
    return out;
}

std::size_t columns_of(std::string_view text) {
    std::size_t n = 0;
    for (std::size_t at = 0; at < text.size(); ++n) {
        at += std::max<std::size_t>(utf8_length(text, at), 1);
    }
    return n;
}

std::string fitted(std::string_view text, std::size_t width) {
    std::string out = printable(text);
    if (columns_of(out) <= width) return out;
    return width == 0 ? "" : std::string(head_of(out, width - 1)) + "~";
}

std::string padded(std::string_view text, std::size_t width) {
    std::string out = fitted(text, width);
    out.append(width - columns_of(out), ' ');
    return out;
}

std::vector<std::string> wrapped(std::string_view text, std::size_t width) {
    const std::string clean = printable(text);
    width = std::max<std::size_t>(width, 1);
    std::vector<std::string> rows(1);
    std::string_view rest = clean;
    while (!rest.empty()) {
        const std::size_t blank = std::min(rest.find(' '), rest.size());
        std::string_view word = rest.substr(0, blank);
        rest.remove_prefix(std::min(blank + 1, rest.size()));
        while (!word.empty()) {
            const std::size_t used = columns_of(rows.back());
            const std::size_t gap = used == 0 ? 0 : 1;
            if (used + gap + columns_of(word) <= width) {
                if (gap > 0) rows.back() += ' ';
                rows.back() += word;
                break;
            }
            if (used > 0) {
                rows.emplace_back();
                continue;
            }
            const std::string_view piece = head_of(word, width);
            rows.back() += piece;
            word.remove_prefix(piece.size());
            if (!word.empty()) rows.emplace_back();
        }
    }
    return rows;
}

}  // namespace sched::report
