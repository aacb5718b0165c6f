#pragma once
// Past promises on the command line.

#include <string>

namespace sched::app {

/// Prints how the promises of `journal` did. @returns the exit status.
int run_backtest(const std::string& folder, const std::string& journal, bool json);

}  // namespace sched::app
