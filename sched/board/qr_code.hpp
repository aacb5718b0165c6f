#pragma once
// An address as a picture that a phone or tablet reads with its camera: QR code (ISO/IEC 18004) in
// the half-block characters of a terminal. The library (libqrencode) is seen in qr_code.cpp alone.

#include <optional>
#include <string>
#include <vector>

namespace sched::board {

struct QrCode {
    int width = 0;           // modules of a side
    std::vector<bool> dark;  // width * width, row by row
};

/// Of bytes, with the smallest error correction that survives a bad display (M, 15 %).
/// @returns nullopt: too long.
std::optional<QrCode> qr_code(const std::string& text);

/// Columns of what terminal_lines prints: four light modules on each side (ISO/IEC 18004, quiet
/// zone).
int columns_of(const QrCode& code);
/// Two rows of modules a line, black on white whatever the terminal's own colours are.
std::string terminal_lines(const QrCode& code);

}  // namespace sched::board
