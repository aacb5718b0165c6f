#pragma once
// A plan from the middle of the day: what had begun and what moves, in words, into the plan
// document.

#include <optional>
#include <string>
#include <vector>

#include "sched/advise/replan.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::report {

struct AgainFacts {
    const search::EarlierPlan* earlier = nullptr;  // null: nothing hung there
    const search::Replan* replan = nullptr;        // with `earlier`
    std::vector<std::string> notes;
    std::vector<std::string> failed;  // tags of screens that are made again
};

/// Fills document.again. @pre problem.now; the document was made of the problem.
void add_again(const core::Problem& problem, const AgainFacts& facts, PlanDocument& document);

/// The operations that the document says are over, as flags; all 0 without `again`.
std::vector<char> over_of(const PlanDocument& document);
/// ... that it says have changed.
std::vector<char> changed_of(const PlanDocument& document);

/// "Planned again at 10:40. 3 steps differ from the posted plan." Empty without `again`.
std::string again_sentence(const PlanDocument& document);

}  // namespace sched::report
