#pragma once
// The systems of tests/data/study/queueing.csv as Problems with arrivals, through queue_run.hpp.

#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "tests/support/queue_figures.hpp"

namespace study_test {

using nlohmann::json;

/// One replication: every measure by the name that the table uses. nullopt: no Problem says it.
/// @param n customers in all. @param warm so many of the first are left out.
std::optional<Figures> simulate_system(const std::string& model, const json& p, std::uint64_t seed,
                                       std::uint64_t replication, std::size_t n, std::size_t warm);

/// Why no Problem says it; empty: one does.
std::string why_not(const std::string& model, const json& p, const std::string& measure);

}  // namespace study_test
