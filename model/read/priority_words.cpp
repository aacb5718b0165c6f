#include "model/read/priority_words.hpp"

#include <cctype>

namespace model::read {

std::string priority_number(const std::string& text) {
    std::string word;
    for (const char c : text)
        word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (word == "low" || word == "normal" || word == "usual") return "1";
    if (word == "important" || word == "high") return "5";
    if (word == "urgent" || word == "rush" || word == "very important") return "9";
    return text;
}

}  // namespace model::read
