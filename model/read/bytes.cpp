// How it works: a file is read in pieces up to its limit, freed of its byte-order mark, and looked
// at byte by byte: UTF-8 by its lead bytes, lines counted on the way, so that the first that is
// none has its place.

#include "model/read/bytes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

namespace model::read {

namespace {

// @returns length of the well-formed UTF-8 sequence at `at` (Unicode standard, table 3-7), 0 if
// none.
std::size_t utf8_length(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) {
        return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0U;
    };
    const auto in = [](unsigned b, unsigned low, unsigned high) { return b >= low && b <= high; };
    const unsigned b0 = byte(0);
    if (b0 < 0x80) return 1;
    if (in(b0, 0xC2, 0xDF)) return in(byte(1), 0x80, 0xBF) ? 2 : 0;
    if (in(b0, 0xE0, 0xEF)) {
        const unsigned low = b0 == 0xE0 ? 0xA0 : 0x80;
        const unsigned high = b0 == 0xED ? 0x9F : 0xBF;
        return in(byte(1), low, high) && in(byte(2), 0x80, 0xBF) ? 3 : 0;
    }
    if (in(b0, 0xF0, 0xF4)) {
        const unsigned low = b0 == 0xF0 ? 0x90 : 0x80;
        const unsigned high = b0 == 0xF4 ? 0x8F : 0xBF;
        return in(byte(1), low, high) && in(byte(2), 0x80, 0xBF) && in(byte(3), 0x80, 0xBF) ? 4 : 0;
    }
    return 0;
}

}  // namespace

int code_points(std::string_view text, std::size_t from, std::size_t to) {
    int count = 0;
    for (std::size_t i = from; i < std::min(to, text.size()); ++i) {
        if ((static_cast<unsigned char>(text[i]) & 0xC0U) != 0x80U) ++count;
    }
    return count;
}

std::optional<std::string> load(const std::string& path, std::size_t limit, Missing missing,
                                Findings& findings) {
    namespace fs = std::filesystem;
    std::error_code error;
    const fs::file_status status = fs::status(path, error);
    const SourcePlace place{findings.file(), 0, 0};
    std::error_code is_link;
    if (status.type() == fs::file_type::none ||
        (missing != Missing::NotYet && !fs::exists(status) && fs::is_symlink(path, is_link))) {
        // Left out is something else than out of reach.
        findings.error(place, "file-unreadable",
                       status.type() == fs::file_type::none
                           ? "this file cannot be looked at: " + error.message() + "."
                           : std::string("this is a link that leads nowhere."),
                       "Check the folder's permissions and where links lead.");
        return std::nullopt;
    }
    if (!fs::exists(status)) {
        if (missing == Missing::Error) {
            findings.error(place, "file-missing", "file not found.",
                           "A scenario folder holds room.yaml, orders.csv and frames.csv.");
        }
        return std::nullopt;
    }
    if (!fs::is_regular_file(status)) {
        findings.error(place, "file-unreadable", "this is not an ordinary file.");
        return std::nullopt;
    }
    std::ifstream in(path, std::ios::binary);
    if (!in) {
        findings.error(place, "file-unreadable", "this file cannot be opened for reading.",
                       "Check its permissions.");
        return std::nullopt;
    }
    // In pieces: the limit is far above what most files have.
    constexpr std::size_t piece = std::size_t{1} << 16;
    std::string text;
    while (in && text.size() <= limit) {
        const std::size_t before = text.size();
        text.resize(std::min(limit + 1, before + piece));
        in.read(text.data() + before, static_cast<std::streamsize>(text.size() - before));
        text.resize(before + static_cast<std::size_t>(in.gcount()));
    }
    if (text.size() > limit) {
        findings.error(place, "file-too-large",
                       fmt::format("this file is larger than {} MiB.", limit / (1024 * 1024)),
                       "Keep one scenario per folder, without other data in it.");
        return std::nullopt;
    }
    if (text.substr(0, 3) == "\xEF\xBB\xBF") text.erase(0, 3);
    return text;
}

bool check_text(std::string_view text, Findings& findings) {
    int line = 1;
    std::size_t line_start = 0;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = utf8_length(text, at);
        if (length == 0 || text[at] == '\0') {
            const SourcePlace place{findings.file(), line, code_points(text, line_start, at) + 1};
            if (length == 0) {
                findings.error(
                    place, "not-utf8",
                    fmt::format("the byte 0x{:02X} is not UTF-8 text.",
                                static_cast<unsigned>(static_cast<unsigned char>(text[at]))),
                    "Save the file as UTF-8.");
            } else {
                findings.error(place, "nul-byte", "a NUL byte stands in the text.",
                               "Save the file as plain UTF-8 text.");
            }
            return false;
        }
        if (text[at] == '\n' ||
            (text[at] == '\r' && (at + 1 >= text.size() || text[at + 1] != '\n'))) {
            ++line;
            line_start = at + 1;
        }
        at += length;
    }
    return true;
}

std::string with_plain_line_ends(std::string_view text) {
    std::string out;
    out.reserve(text.size());
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\r') {
            if (i + 1 < text.size() && text[i + 1] == '\n') continue;
            out += '\n';
        } else {
            out += text[i];
        }
    }
    return out;
}

std::size_t byte_of(std::string_view text, const SourcePlace& place) {
    std::size_t at = 0;
    for (int line = 1; line < place.line && at < text.size(); ++at) {
        if (text[at] == '\n') ++line;
    }
    for (int column = 1; column < place.column && at < text.size(); ++column) {
        ++at;
        while (at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0u) == 0x80u)
            ++at;
    }
    return at;
}

}  // namespace model::read
