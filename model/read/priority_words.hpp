#pragma once
// Priorities as offices say them: "important" beside 5.

#include "model/read/spec.hpp"

namespace model::read {

/// The number of a priority word as text ("important" → "5"); any other text as it is.
std::string priority_number(const std::string& text);

/// The row, which then takes the words, too.
template <class T>
Row<T> with_priority_words(Row<T> row) {
    row.read = [read = row.read](Findings& findings, const KeySpec& spec, const YamlNode& node,
                                 T& target) {
        YamlNode number = node;
        number.text = priority_number(node.text);
        read(findings, spec, number, target);
    };
    return row;
}

}  // namespace model::read
