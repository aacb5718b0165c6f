#pragma once
// The plan that costs least on the days that may come: lists of work (list_search.hpp) against the
// plan that is best on paper.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sched/core/solution.hpp"
#include "sched/search/base/options.hpp"
#include "sched/simulate/replicate.hpp"

namespace sched::study {

/// Days that decide between the best lists and the plan on paper; the search has seen none of them.
inline constexpr std::size_t deciding_days = 200;

struct ChancePlanOptions {
    search::SearchOptions how;  // budget: seconds, or schedules and simulated days together
    Chance chance;
    std::size_t deciding = deciding_days;  // beside the budget
    std::size_t days_after = 0;            // of the plan, out of the same budget of time
    /// What is posted: it stays unless something else costs clearly less.
    struct Posted {
        std::vector<double> turns;  // per operation of the run, s; empty: work goes by its starts
        std::optional<core::Schedule> schedule;  // a good one that it leads to; else it is made
    };
    std::optional<Posted> posted;
    std::vector<core::OperationId> held;  // by their starts: they stay where they are, and go first
    /// What is being tried, in words, and the best mean of the first aim so far.
    std::function<void(const std::string& words)> progress;
};

/// A plan and what goes first when the day differs from it.
struct ChancePlan {
    core::Schedule schedule;          // of the problem given, with the planned lengths
    std::vector<std::int32_t> turns;  // per operation, 1 goes first; empty: by planned start
    std::string words;                // what was chosen and why
    std::int64_t evaluations = 0;     // schedules and simulated days that it took
    /// The orders of work that were compared, turns per operation, s: in a room that is a little
    /// different another of them may be best.
    std::vector<std::vector<double>> compared;
};

/// Turns in the form that the simulation takes: the k-th is the k-th start of the plan, so that
/// they count in seconds. @param turns as ChancePlan has them. @returns empty for empty turns.
std::vector<double> turns_in_seconds(const core::Schedule& plan,
                                     const std::vector<std::int32_t>& turns);

/// Who is simulated on further days after those so far.
struct Race {
    std::vector<std::size_t> simulate_on;  // rising; the first always does
    bool decided = false;                  // but the cheapest all cost clearly more
};
/// @param cost per plan what each day cost, all the same days; the first plan is what the others
/// are compared with. Clearly: by more than twice the standard error of the paired differences.
Race race_of(const std::vector<std::vector<double>>& cost);

/// @param room the run, breaks in place. @param problem its problem, with pins.
/// @param paper a schedule of `problem`, and the plan that comes back if nothing costs less.
/// With something posted ChancePlan::turns may be empty and the schedule the posted one.
/// Same result for the same seed and a budget in evaluations, whatever the threads.
ChancePlan plan_for_chance(const model::Scenario& scenario,
                           const compile::CompileOptions& compile_options,
                           const compile::RoomProblem& room, const core::Problem& problem,
                           const core::Schedule& paper, const ChancePlanOptions& options);

}  // namespace sched::study
