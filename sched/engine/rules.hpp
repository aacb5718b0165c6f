#pragma once
// Dispatching rules as priority lists: one table line a rule. A rule sorts operations by a key that
// it computes from due dates, weights and work; the list then decodes like any other sequence.

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// What a rule may look at, per operation; seconds. Work is that of the shortest mode, drying in an
/// empty cabinet.
struct RuleView {
    double work = 0.0;       // of the operation
    double head = 0.0;       // longest way from release to its start
    double remaining = 0.0;  // longest way from its start to the end of its job
    double job_work = 0.0;   // sum over the job
    double release = 0.0;    // of the order, or start of the horizon
    double due = 0.0;        // of the order; without one: the end of the horizon
    double weight = 1.0;     // of the order
    double mean_work = 1.0;  // over all operations
};

/// Index of apparent tardiness cost (Vepsalainen and Morton 1987): the higher, the sooner. @param
/// work, look_ahead > 0 @param slack until the last moment to begin; none left below zero
inline double tardiness_cost_index(double weight, double work, double slack, double look_ahead) {
    return weight / work * std::exp(-std::max(0.0, slack) / look_ahead);
}

struct Rule {
    const char* name;                     // as on the command line
    const char* words;                    // "earliest due date first"
    double (*key)(const RuleView& view);  // lower goes first
};

/// All rules, in a fixed order; the first is the one to take when only one may be tried.
std::span<const Rule> rules();

/// One view per operation. @pre the lags have no circle of non-negative minimum (those on one see
/// head 0).
std::vector<RuleView> rule_views(const CompiledProblem& problem);

/// Ranks by the rule's key; equal keys by operation number.
Sequence rule_sequence(const CompiledProblem& problem, const std::vector<RuleView>& views,
                       const Rule& rule);

}  // namespace sched::engine
