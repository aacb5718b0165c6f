#pragma once
// Were promises kept? The backtest of a journal for people and for programs.

#include <string>

#include "sched/statistics/conformal.hpp"

namespace sched::report {

/// UTF-8 lines, at most about 110 columns.
std::string backtest_to_text(const study::Backtest& backtest);

/// {"format": 1, "entries", "open", "rows": [...], "correction": {...} or null}; a line feed at the
/// end. Shares 0 .. 1, minutes and hours as their names say.
std::string backtest_to_json(const study::Backtest& backtest);

/// What a correction does, in words: "12 % of the wait are added; 150 outcomes, 93 % asked for".
std::string correction_words(const study::Correction& correction);

}  // namespace sched::report
