#pragma once
// The run over weeks that `weeks` makes and `promise --table` reads: one question, so that both
// give one answer.

#include <cstdint>
#include <optional>
#include <string>

#include "model/room/order.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/simulate/long_run.hpp"

namespace sched::app {

struct WeeksQuestion {
    compile::CompileOptions compile;
    study::LongRunOptions options;  // chances, arrivals, seed, rule, stop, progress
};

/// By chance.yaml and arrivals.csv of the folder, else the defaults of the trade. Complaints go
/// into `diagnostics`. @param load_said how many orders come in is not taken from the files. @param
/// quiet shows no progress.
/// @returns nullopt where the files cannot be read.
std::optional<WeeksQuestion> weeks_question(const model::Scenario& scenario, std::uint64_t seed,
                                            const std::string& rule,
                                            model::Diagnostics& diagnostics, bool load_said = false,
                                            bool quiet = false);

/// What of an order nobody can ever do, and what to change; nullopt: nothing is proved. Over weeks
/// such screens would only pile up.
std::optional<std::string> never_done(model::Scenario scenario, compile::CompileOptions options);

}  // namespace sched::app
