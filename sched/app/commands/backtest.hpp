#pragma once
// Past promises on the command line.

#include <string>

namespace sched::app {

/// Prints how the promises of a file did, or, where `file` is empty, those that the folder keeps.
/// @returns the exit status.
int run_backtest(const std::string& folder, const std::string& file, bool json);

}  // namespace sched::app
