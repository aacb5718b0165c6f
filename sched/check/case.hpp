#pragma once
// What the parts of the checker share: the case before them and the list of what they found.

#include <string>
#include <vector>

#include "sched/check/checker.hpp"

namespace sched::check {

struct Case {
    const core::Problem& problem;
    const core::Schedule& schedule;
    std::vector<bool> sound;  // per operation: its mode and resources can be looked up
    std::vector<Violation> found;
    std::vector<const core::Begun*> begun;  // per operation; null: it has not

    bool has_begun(std::size_t i) const { return begun[i] != nullptr; }
    bool has_begun(core::OperationId id) const { return has_begun(id.index()); }
    std::size_t size() const { return problem.operations.size(); }
    const core::Operation& operation(std::size_t i) const { return problem.operations[i]; }
    const core::Placement& placement(std::size_t i) const { return schedule.placements[i]; }
    const core::Placement& placement(core::OperationId id) const { return placement(id.index()); }
    const core::Resource& resource(core::ResourceId id) const {
        return problem.resources[id.index()];
    }
    /// @pre sound[i], or its mode index is known to be right.
    const core::Mode& mode(std::size_t i) const {
        return operation(i).modes[static_cast<std::size_t>(placement(i).mode)];
    }
    const std::string& name(core::OperationId id) const {
        return problem.operations[id.index()].name;
    }

    Violation& say(Rule rule, std::size_t op, std::string text) {
        found.push_back(
            {.rule = rule, .operation = core::OperationId{op}, .words = std::move(text)});
        return found.back();
    }
};

// One function a group of rules; each appends to `found`.
void check_begun(Case& c);        // Begun; sets `begun`
void check_shape(Case& c);        // Mode, Choice, Distinct, Times; sets `sound`
void check_length(Case& c);       // WorkLength, Drying, Stretch
void check_drying(Case& c);       // called by check_length
void check_capacity(Case& c);     // Capacity
void check_calendars(Case& c);    // Calendar
void check_walks(Case& c);        // Walk
void check_pauses(Case& c);       // Pause
void check_constraints(Case& c);  // TimeLag, StartWindow, SameMode, SameResource
void check_orders(Case& c);       // Release, Deadline, Horizon
void check_stores(Case& c);       // Store
void check_batches(Case& c);      // Batch

/// The resources among the chosen of operation i that take batches. @pre sound[i].
std::vector<core::ResourceId> batching(const Case& c, std::size_t i);

/// The first second at which `work` seconds open in all calendars have passed since `start`, and
/// whether `start` itself is open in all; nullopt: never.
struct OpenTime {
    bool starts_open = false;
    std::optional<core::SimTime> end;
};
OpenTime open_time(const std::vector<const core::Calendar*>& calendars, core::SimTime start,
                   core::Seconds work);

}  // namespace sched::check
