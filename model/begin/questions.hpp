#pragma once
// The ten questions of `coatroom begin`, in the trade's words, each with an answer that stands if
// nothing is said.

#include <string>
#include <string_view>
#include <vector>

namespace model::begin {

struct Question {
    std::string_view key;                   // in an answers file: "people: Ada, Ben"
    std::string_view ask;                   // "Who works in the screen room?"
    std::string_view hint;                  // how to answer
    std::vector<std::string_view> answers;  // the usual one first; a number picks one
};

/// In the order in which they are asked.
const std::vector<Question>& questions();

/// What was said: its text, and where (line and column of the answers file; 0 at the terminal).
struct Answer {
    std::string text;
    int line = 0;
    int column = 0;
};

/// An empty answer as the usual one, a number that counts one of several answers as that answer.
std::string settled(const Question& question, std::string_view said);

}  // namespace model::begin
