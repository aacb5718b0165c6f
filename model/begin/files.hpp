#pragma once
// The files of a new room: every line commented, to be changed line by line into the real one.

#include <string>
#include <vector>

#include "model/base/time.hpp"
#include "model/begin/shop.hpp"

namespace model::begin {

struct NewFile {
    std::string name;  // "room.yaml"
    std::string text;
};

/// room.yaml, orders.csv with an example day, frames.csv, answers.txt.
/// @param name of the room, for the sheets.  @param today date on the example pots.
/// @param answers as settled, in the order of the questions.
std::vector<NewFile> files_of(const Shop& shop, const std::string& name, LocalDate today,
                              const std::vector<Answer>& answers);

}  // namespace model::begin
