#include "sched/board/qr_code.hpp"

#include <qrencode.h>

#include <memory>

#include "sched/core/index.hpp"

namespace sched::board {

namespace {

constexpr int quiet = 4;  // light modules round it

}  // namespace

std::optional<QrCode> qr_code(const std::string& text) {
    const std::unique_ptr<QRcode, void (*)(QRcode*)> made(
        QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M), QRcode_free);
    if (!made) return std::nullopt;
    QrCode out{.width = made->width};
    // Of each byte the lowest bit is the module; the others say what it is of.
    for (int i = 0; i < made->width * made->width; ++i)
        out.dark.push_back((made->data[i] & 1) != 0);
    return out;
}

int columns_of(const QrCode& code) {
    return code.width + 2 * quiet;
}

std::string terminal_lines(const QrCode& code) {
    const auto dark = [&](int row, int column) {
        const bool inside = row >= 0 && column >= 0 && row < code.width && column < code.width;
        return inside && code.dark[ix(row * code.width + column)];
    };
    std::string out;
    for (int row = -quiet; row < code.width + quiet; row += 2) {
        out += "\033[38;5;16;48;5;231m";  // black on white of the 256 colours
        for (int column = -quiet; column < code.width + quiet; ++column) {
            const bool upper = dark(row, column), lower = dark(row + 1, column);
            out += upper ? (lower ? "\u2588" : "\u2580") : (lower ? "\u2584" : " ");
        }
        out += "\033[0m\n";
    }
    return out;
}

}  // namespace sched::board
