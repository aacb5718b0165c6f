#pragma once
// The words for steps that people write in room.yaml and read on sheets: the one table.

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/room/room.hpp"

namespace model {

/// A word and the steps that it means where a list of steps is asked for ("does:", "can:").
struct StepWord {
    std::string_view word;
    std::vector<Step> steps;  // the first is the step itself; more: what goes along with it
};

/// "strip" goes along with "rinse", "ink off" with "degrease after ink", "mix" is both mixing
/// steps.
std::span<const StepWord> step_words();

/// The step's own word: "wash out".
std::string_view words_of(Step step);
/// The step that has this word as its own (not "mix").
std::optional<Step> step_of(std::string_view word);
/// Every step that the word means in a list of steps; empty if there is no such word.
std::vector<Step> steps_of(std::string_view word);
/// All words, for suggestions.
std::vector<std::string> all_step_words();

}  // namespace model
