// The QR code against ISO/IEC 18004: its size by the capacity of each version for bytes at error
// correction M (table 7), and the patterns that every code has. That it says the text is read back
// by an outside decoder (qr_test.py).

#include "sched/board/qr_code.hpp"

#include "tests/catch.hpp"

using namespace sched::board;

namespace {

bool dark(const QrCode& code, int row, int column) {
    return code.dark[static_cast<std::size_t>(row * code.width + column)];
}

}  // namespace

TEST_CASE("a QR code is the smallest version that holds the text", "[board][qr]") {
    // Version v has 17 + 4 v modules a side. Versions 1, 2, 3, 10 and 40 hold 14, 26, 42, 213 and
    // 2331 bytes.
    for (const auto& [version, bytes] :
         {std::pair{1, 14}, std::pair{2, 26}, std::pair{3, 42}, std::pair{10, 213}}) {
        const auto full = qr_code(std::string(static_cast<std::size_t>(bytes), 'a'));
        REQUIRE(full);
        CHECK(full->width == 17 + 4 * version);
        CHECK(full->dark.size() == static_cast<std::size_t>(full->width * full->width));
        const auto more = qr_code(std::string(static_cast<std::size_t>(bytes) + 1, 'a'));
        REQUIRE(more);
        CHECK(more->width == 17 + 4 * (version + 1));
    }
    CHECK(qr_code(std::string(2331, 'a'))->width == 177);
    CHECK_FALSE(qr_code(std::string(2332, 'a')));
}

TEST_CASE("a QR code has finders in three corners and a line of turns between them",
          "[board][qr]") {
    const auto code = qr_code("http://192.168.1.20:8377/?token=0123456789abcdef0123456789abcdef");
    REQUIRE(code);
    const int last = code->width - 7;
    // Rings of a finder (6.3.3): 7 x 7 dark, 5 x 5 light, 3 x 3 dark.
    for (const auto& [top, left] : {std::pair{0, 0}, std::pair{0, last}, std::pair{last, 0}}) {
        for (int row = 0; row < 7; ++row) {
            for (int column = 0; column < 7; ++column) {
                const int ring = std::max(std::abs(row - 3), std::abs(column - 3));
                CHECK(dark(*code, top + row, left + column) == (ring != 2));
            }
        }
    }
    for (int k = 8; k < code->width - 8; ++k) {  // timing patterns (6.3.5)
        CHECK(dark(*code, 6, k) == (k % 2 == 0));
        CHECK(dark(*code, k, 6) == (k % 2 == 0));
    }
    CHECK(dark(*code, code->width - 8, 8));  // the module that is always dark (7.9.1)
}

TEST_CASE("in a terminal a QR code has four light modules on each side", "[board][qr]") {
    const auto code = qr_code("coatroom");  // 21 modules
    REQUIRE(code);
    CHECK(columns_of(*code) == 29);
    const std::string text = terminal_lines(*code);
    const std::string begins = "\033[38;5;16;48;5;231m", ends = "\033[0m\n";
    std::vector<std::string> lines;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = text.find(ends, at);
        REQUIRE(end != std::string::npos);
        REQUIRE(text.compare(at, begins.size(), begins) == 0);
        lines.push_back(text.substr(at + begins.size(), end - at - begins.size()));
        at = end + ends.size();
    }
    // 29 rows, two a line: four light ones, 21 of the code, four light ones.
    REQUIRE(lines.size() == 15);
    for (const std::size_t light : {0, 1, 13, 14})
        CHECK(lines[light] == std::string(29, ' '));
    // First two rows of the finder on the left: dark corners and edge, light inside below.
    CHECK(lines[2].substr(0, 4) == "    ");
    CHECK(lines[2].substr(4, 21) == "\u2588\u2580\u2580\u2580\u2580\u2580\u2588");
}
