#include "sched/report/document/fingerprint.hpp"

#include <sha2.h>

#include <array>
#include <cstdint>

namespace sched::report {

namespace {

std::array<std::uint8_t, SHA256_DIGEST_LENGTH> sha256_bytes(std::string_view bytes) {
    SHA2_CTX context;
    SHA256Init(&context);
    SHA256Update(&context, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    std::array<std::uint8_t, SHA256_DIGEST_LENGTH> digest{};
    SHA256Final(digest.data(), &context);
    return digest;
}

}  // namespace

std::string sha256_hex(std::string_view bytes) {
    static constexpr char digits[] = "0123456789abcdef";
    std::string out;
    for (const std::uint8_t byte : sha256_bytes(bytes)) {
        out += digits[byte >> 4];
        out += digits[byte & 15];
    }
    return out;
}

std::string sha256_csp(std::string_view bytes) {
    static constexpr char digits[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const auto digest = sha256_bytes(bytes);
    std::string out = "sha256-";
    for (std::size_t i = 0; i < digest.size(); i += 3) {
        std::uint32_t word = 0;
        for (std::size_t k = 0; k < 3; ++k) {
            word = word << 8 | (i + k < digest.size() ? digest[i + k] : 0u);
        }
        const std::size_t given = digest.size() - i;  // bytes left: 1 or 2 need padding
        out += digits[word >> 18 & 63];
        out += digits[word >> 12 & 63];
        out += given > 1 ? digits[word >> 6 & 63] : '=';
        out += given > 2 ? digits[word & 63] : '=';
    }
    return out;
}

InputFile input_file(std::string name, std::string_view bytes) {
    return {.name = std::move(name),
            .sha256 = sha256_hex(bytes),
            .bytes = static_cast<std::int64_t>(bytes.size())};
}

std::string fingerprint_of(const std::vector<InputFile>& inputs) {
    std::string all;
    for (const InputFile& input : inputs)
        all += input.name + " " + input.sha256 + "\n";
    return sha256_hex(all);
}

}  // namespace sched::report
