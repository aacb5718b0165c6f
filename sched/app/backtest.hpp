#pragma once
// Past promises on the command line.

#include <optional>
#include <string>

#include "model/base/diagnostic.hpp"
#include "sched/study/conformal.hpp"
#include "sched/study/promise.hpp"

namespace sched::app {

/// Prints how the promises of `journal` did. @returns the exit status.
int run_backtest(const std::string& folder, const std::string& journal, bool json);

/// What the scenario's own promises.csv says about a promise given at `now`; none: no such file,
/// too few outcomes, or errors in it (in `diagnostics`).
std::optional<study::Correction> past_correction(const std::string& folder, double level,
                                                 model::SimTime now,
                                                 model::Diagnostics& diagnostics);

/// Adds a promise that was given to the folder's promises.csv (made if it is not there), so that
/// its outcome can be learnt from. The caller holds the scenario's lock. @returns what went wrong,
/// empty if nothing; then the file is as it was.
std::string record_promise(const std::string& folder, const study::Promise& promise);

}  // namespace sched::app
