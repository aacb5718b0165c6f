#include "model/base/name.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

namespace model {

namespace {

struct CodeRange {
    char32_t first, last;
};

template <std::size_t N>
bool in_ranges(const std::array<CodeRange, N>& ranges, char32_t c) {
    return std::any_of(ranges.begin(), ranges.end(),
                       [&](const CodeRange& r) { return r.first <= c && c <= r.last; });
}

// Unicode 14, White_Space (PropList.txt) and Default_Ignorable_Code_Point
// (DerivedCoreProperties.txt) together, and the braille pattern without a dot.
constexpr std::array<CodeRange, 23> not_seen{{
    {0x20, 0x20},       {0x85, 0x85},       {0xA0, 0xA0},       {0xAD, 0xAD},     {0x34F, 0x34F},
    {0x61C, 0x61C},     {0x115F, 0x1160},   {0x1680, 0x1680},   {0x17B4, 0x17B5}, {0x180B, 0x180F},
    {0x2000, 0x200F},   {0x2028, 0x202F},   {0x205F, 0x206F},   {0x2800, 0x2800}, {0x3000, 0x3000},
    {0x3164, 0x3164},   {0xFE00, 0xFE0F},   {0xFEFF, 0xFEFF},   {0xFFA0, 0xFFA0}, {0xFFF0, 0xFFF8},
    {0x1BCA0, 0x1BCA3}, {0x1D173, 0x1D17A}, {0xE0000, 0xE0FFF},
}};

// Cc (UnicodeData.txt), line and paragraph separator, embeddings, overrides and isolates.
constexpr std::array<CodeRange, 4> controls{
    {{0x00, 0x1F}, {0x7F, 0x9F}, {0x2028, 0x202E}, {0x2066, 0x2069}}};

// The code point at `at`, which moves behind it. Bytes that are none count as seen.
char32_t next_code_point(std::string_view text, std::size_t& at) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const unsigned lead = byte(at++);
    const unsigned more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : lead >= 0xC0 ? 1 : 0;
    char32_t c = more == 0 ? lead : lead & (0x3FU >> more);
    for (unsigned k = 0; k < more && at < text.size() && (byte(at) & 0xC0U) == 0x80U; ++k)
        c = (c << 6U) | (byte(at++) & 0x3FU);
    return c;
}

}  // namespace

std::string name_problem(std::string_view text) {
    if (text.empty()) return "is empty";
    if (text.size() > 120) return "is longer than 120 bytes";
    bool seen = false;
    for (std::size_t at = 0; at < text.size();) {
        const char32_t c = next_code_point(text, at);
        if (in_ranges(controls, c)) return "holds a line break, tab or control character";
        seen |= !in_ranges(not_seen, c);
    }
    return seen ? "" : "is blank: nothing of it can be seen";
}

}  // namespace model
