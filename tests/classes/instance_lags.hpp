#pragma once
// Files with maximum time lags become Problems: projects of ProGen/max (.sch) and small rooms with
// proved optima (JSON). Positions go with every complaint where the format has lines.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "model/base/diagnostic.hpp"
#include "sched/core/problem.hpp"

namespace sched::compile {

/// What a file may be at most; beyond it the reader reports `too-large` and gives up.
struct LagLimits {
    std::size_t bytes = 16u << 20;
    std::int64_t activities = 20'000;
    std::int64_t resources = 1'000;
    std::int64_t arcs = 500'000;
    std::int64_t value = 10'000'000;  // lengths, lags, demands
};

/// PS | temp | C_max: start-to-start lags of either sign, renewable resources, one mode each; the
/// start of the sink is the makespan. One unit of the file = one second. Source and sink are
/// operations of no length, as in the file. The horizon holds every schedule that leaves no time
/// unused: the sum over activities of the larger of length and largest outgoing lag.
/// @returns nullopt when `diagnostics` got an error.
std::optional<core::Problem> read_project_max(std::string_view text, const std::string& file,
                                              model::Diagnostics& diagnostics,
                                              const LagLimits& limits = {});

/// Small rooms: weighted tardiness of orders, then makespan. Whole minutes in the file.
/// The JSON library keeps no places for values: a complaint about one names its path
/// ("/steps/3/min").
/// @returns nullopt when `diagnostics` got an error.
std::optional<core::Problem> read_small_room(std::string_view text, const std::string& file,
                                             model::Diagnostics& diagnostics,
                                             const LagLimits& limits = {});

}  // namespace sched::compile
