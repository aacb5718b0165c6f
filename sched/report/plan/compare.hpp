#pragma once
// Two plans side by side: what differs and what it does.

#include <string>
#include <utility>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// The older and the newer row of one thing; nullptr: it stands in one plan only.
template <class Row>
struct Changed {
    const Row* was = nullptr;
    const Row* now = nullptr;
};

/// What differs as people read it: less than a minute is no other time, another order of names
/// nobody else. Rows point into the two documents.
struct PlanDifferences {
    std::vector<Changed<InputFile>> inputs;
    std::vector<Changed<AimLine>> aims;
    std::vector<Changed<OrderLine>> orders;
    std::vector<Changed<OperationLine>> steps;  // by screen, step, round and words
    std::vector<Changed<LoadLine>> loads;       // another number of places, or a point of use
    bool other_bottleneck = false;
    bool none() const {
        return inputs.empty() && aims.empty() && orders.empty() && steps.empty() && loads.empty() &&
               !other_bottleneck;
    }
};
PlanDifferences differences(const PlanDocument& a, const PlanDocument& b);

/// The differences for programs: docs/plan-document.md.
std::string compare_to_json(const PlanDocument& a, const PlanDocument& b);

/// For a terminal, `width` columns: aims that changed, orders that become ready at another time,
/// inputs that differ, how many steps changed time, place or person and which moved most, resources
/// whose load changed by a point or more. Steps are matched by screen tag, step, round and words,
/// orders by name; what stands in one plan only is named. `a` is the older plan.
std::string compare_documents(const PlanDocument& a, const PlanDocument& b, int width = 80);

}  // namespace sched::report
