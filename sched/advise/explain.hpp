#pragma once
// Why an operation starts when it does, read off Problem and Schedule alone: the chain that holds
// an order back, and what each resource was doing all day.

#include <optional>
#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::search {

/// What made an operation start no earlier. Among causes that allow the same start the first of
/// Begin, Predecessor, Resource, Store, Release is named; Calendar if only the calendars forbade
/// the time between those and the start.
enum class Cause {
    Begin,        // horizon start, nothing before it
    Release,      // order release or StartWindow::not_before
    Predecessor,  // a time lag from `because` (its work or its drying)
    Resource,     // `resource` was taken by `because` until then
    Calendar,     // `resource` was not staffed (shift, break, downtime) until then
    Store,        // the material was not there (mixing `because` had to end first)
    Choice,       // nothing forced it: the plan waits on purpose (for what follows)
};

struct ChainLink {
    core::OperationId operation;
    Cause cause = Cause::Begin;
    /// Who began no later and kept it from starting. Calendar: who held it up before that, if
    /// anybody. Choice: the batch mate that came last, or who kept `waits_for` from starting, or
    /// who held this one up before it began to wait on purpose.
    std::optional<core::OperationId> because;
    /// Choice: what keeps `waits_for` from starting sooner, if a resource does.
    std::optional<core::ResourceId> resource;
    /// Choice only: the follower that a maximum lag keeps near, or the batch mate.
    std::optional<core::OperationId> waits_for;
    /// Resource only: `because` had done its work and stood in the place until then.
    bool held = false;
    /// Between when everything else would have allowed the start, and the start.
    core::Seconds waited{0};
};

/// From the last operation of the order, whose end is the order's completion, back to a link
/// without `because`; first element = last operation. The next link is about `because`; where that
/// one had finished and only held the resource, about the operation whose start let it go. No link
/// is about an operation that starts after the one before it, none is met twice. Empty: the order
/// has no operations.
/// @pre the schedule passes sched/check.
std::vector<ChainLink> chain_of(const core::Problem& problem, const core::Schedule& schedule,
                                core::OrderId order);

/// Time elements of one resource over the windows in which it is staffed (no calendar: from the
/// first start to the last end of the schedule), after reference names of ISO 22400-2. Windows
/// count whole if they touch the time from the first start to the last end. A batch counts once.
struct ResourceUse {
    core::ResourceId resource;
    core::Seconds staffed{0};     // capacity-seconds available
    core::Seconds working{0};     // capacity-seconds in [start, work_end)
    core::Seconds holding{0};     // capacity-seconds in [work_end, end)
    core::Seconds waited_for{0};  // sum over operations of the wait that this resource alone caused
    int on_late_chains = 0;       // links of chains of late orders that name it
};
std::vector<ResourceUse> resource_use(const core::Problem& problem, const core::Schedule& schedule);

}  // namespace sched::search
