#pragma once
// Where a day has left its plan: what of the marks, and of what is not marked, asks for a new one.

#include <string>
#include <vector>

#include "sched/journal/entry.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

struct OffPlan {
    std::string key;  // the same for the same cause; lateness has another every quarter of an hour
    std::string words;  // "cabinet 2 is out of work since 10:12"
    friend bool operator==(const OffPlan&, const OffPlan&) = default;
};

struct OffPlanLimits {
    model::Seconds late{15 * 60};  // of a screen, or of a station's next screen
    double chance = 0.2;           // to be late, of an order
};

/// @param entries all of the journal, ids rising. @param from marks before it, or before
/// the plan begins, are of another day; but a station that is out of work is, whenever it was said.
/// @param seen last entry that the plan took account of.
/// @returns marks in the order of their entry, what was taken back, screens, stations behind,
/// orders.
std::vector<OffPlan> off_plan(const report::PlanDocument& plan,
                              const std::vector<journal::Entry>& entries, std::int64_t seen,
                              model::SimTime from, model::SimTime now,
                              const OffPlanLimits& limits = {});

/// The chance that an order is late when it becomes ready `behind` later than its simulated days
/// say: their quantiles, joined by straight lines, moved. Its plan's chance where they are missing.
double chance_late_behind(const report::OrderLine& order, model::Seconds behind);

}  // namespace sched::app
