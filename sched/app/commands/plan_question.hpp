#pragma once
// From the options of `coatroom plan` to its question.

#include <optional>

#include "model/base/diagnostic.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/question.hpp"

namespace sched::app {

/// Reads the files that the options name, each once. @returns nullopt when something is wrong:
/// diagnostics got an error, or it is said on the error stream.
std::optional<Question> question_of(const PlanArgs& args, model::Diagnostics& diagnostics);

}  // namespace sched::app
