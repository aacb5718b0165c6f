#pragma once
// Past promises of a scenario folder: those of the journal, and promises.csv until it is taken in.

#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/room/past_promise.hpp"
#include "sched/journal/journal.hpp"

namespace sched::app {

/// What is known of past promises; changes nothing. promises.csv counts until it has been taken
/// into the journal; what it says besides afterwards is told in a warning.
/// @returns nullopt after errors in `diagnostics`.
std::optional<std::vector<model::PastPromise>> past_promises(const std::string& folder,
                                                             model::Diagnostics& diagnostics);

/// promises.csv is taken into the journal where that has not been done yet; says so on the error
/// stream. @pre the scenario's lock is held. @returns false with `problem`.
bool take_in_own_file(const std::string& folder, journal::Journal& journal, std::string& problem);

/// The promises of a file, and when their orders were ready, are taken into the journal, as far as
/// it does not have them. @returns nullopt with `problem`, or errors in `diagnostics`.
std::optional<journal::PromiseNews> take_in_promises(const std::string& folder,
                                                     const std::string& file, std::string& problem,
                                                     model::Diagnostics& diagnostics);

/// As promises.csv has them.
std::string promises_to_csv(const std::vector<model::PastPromise>& promises);

}  // namespace sched::app
