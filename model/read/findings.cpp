#include "model/read/findings.hpp"

namespace model::read {

std::string in_quotes(std::string_view text) {
    std::string out = "\"";
    int characters = 0;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        const bool begins = (byte & 0xC0U) != 0x80U;
        if (begins && ++characters > 40) {
            out += "…";
            break;
        }
        out += byte < 0x20 || byte == 0x7F ? '?' : c;
    }
    return out + "\"";
}

std::string did_you_mean(std::string_view word, const std::vector<std::string>& names) {
    const std::string near = nearest_name(word, names);
    return near.empty() ? std::string{} : "Did you mean " + in_quotes(near) + "?";
}

std::string name_list(const std::vector<std::string>& names, std::size_t most) {
    std::string out;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (i == most) return out + ", …";
        if (i > 0) out += ", ";
        out += names[i];
    }
    return out;
}

}  // namespace model::read
