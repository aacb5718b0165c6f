#pragma once
// A file of answers, for scripts: "people: Ada, Ben", one a line; what is not named stands as
// usual.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/begin/shop.hpp"

namespace model::begin {

/// One answer for each question, in their order, settled; every error in one pass.
/// @param file its name, for the diagnostics.  @returns nullopt after an error.
std::optional<std::vector<Answer>> read_answers(std::string_view text, const std::string& file,
                                                Diagnostics& diagnostics);

/// The shop of the answers; what is wrong with each goes to `diagnostics`.
std::optional<Shop> shop_of(const std::vector<Answer>& answers, const std::string& file,
                            Diagnostics& diagnostics);

}  // namespace model::begin
