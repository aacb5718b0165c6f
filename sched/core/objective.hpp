#pragma once
// What a schedule is worth, from the definitions of Criterion alone.

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::core {

/// Completion per order in Problem order; nullopt for an order without operations.
std::vector<std::optional<SimTime>> completions(const Problem& problem, const Schedule& schedule);

/// end, or work_end where the operation may stretch without limit (it is done when its work is).
SimTime completion(const Operation& operation, const Placement& placement);

/// @pre one placement per operation.
Value evaluate(const Problem& problem, const Schedule& schedule);

/// What there is to say of a criterion: one row each. How it is counted from a schedule is
/// evaluate(); who counts it otherwise (engine, bounds, exact search) does so without a default
/// branch, and the compiler names the places that a new one needs.
struct CriterionRow {
    Criterion criterion;
    std::string_view words;   // for people: "late orders"
    std::string_view key;     // in files: "late-orders"
    bool in_orders;           // counted in orders; else in seconds, weighted ones too
    bool promised;            // to customers or people: no change of a plan comes before it
    std::string_view better;  // of a plan: "could be up to {} lower"
    std::string_view saving;  // "saves {} of overtime"
    bool sold;                // one more of something may be bought for it
};
std::span<const CriterionRow> criteria();
const CriterionRow& row_of(Criterion criterion);

/// "priority-weighted lateness", "late orders", ...: words for people.
std::string words(Criterion criterion);
/// "3 orders", "1 h 5 min".
std::string amount_words(Criterion criterion, std::int64_t amount);

}  // namespace sched::core
