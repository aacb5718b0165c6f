#pragma once
// Public benchmark files become Problems: job shop, flexible job shop, hybrid flow shop, job shop
// with weighted tardiness, and resource-constrained projects. One unit of the files = one second.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "model/base/diagnostic.hpp"
#include "sched/core/problem.hpp"

namespace sched::compile {

enum class ShopFormat {
    JobShop,  // "n m", then a line of `machine duration` pairs a job, machines from 0; J || C_max
    FlexibleJobShop,   // "n m [f]", then "k  c machine duration ..." a job, machines from 1; FJ ||
                       // C_max
    HybridFlowShop,    // n, S, machines a stage, then durations a job; FH || C_max
    TardinessJobShop,  // as JobShop, each line ends "release due weight"; J | r_j | Σ w_j T_j
    Project,           // Patterson layout (.rcp) of PSPLIB; PS | prec | C_max
};

/// What a file may be at most; beyond it the reader reports `too-large` and gives up.
struct InstanceLimits {
    std::size_t bytes = 32u << 20;
    std::int64_t jobs = 20'000;
    std::int64_t machines = 5'000;
    std::int64_t operations = 200'000;
    std::int64_t duration = 10'000'000;
};

/// One order and one job a line of the file (projects: one order for all); operations of a job in
/// the order of the file, joined by lags End → Start of at least 0. A flexible operation has one
/// mode a machine, a hybrid stage is one resource of capacity M.
/// @param file name for the diagnostics.  @returns nullopt when `diagnostics` got an error.
std::optional<core::Problem> read_shop(std::string_view text, const std::string& file,
                                       ShopFormat format, model::Diagnostics& diagnostics,
                                       const InstanceLimits& limits = {});

}  // namespace sched::compile
