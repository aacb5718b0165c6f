#pragma once
// What coatroom tune gives: text for the terminal, and JSON.

#include <string>
#include <vector>

#include "sched/tune/changes.hpp"

namespace sched::report {

/// @param scenario the folder, as it was named.
std::string tune_text(const tune::Tuning& tuning, const std::vector<tune::Change>& changes,
                      const std::string& scenario);
std::string tune_json(const tune::Tuning& tuning, const std::vector<tune::Change>& changes);

}  // namespace sched::report
