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
    /// Choice only: `resource` was not there for `waits_for` (end of its shift, break) before that.
    bool away = false;
    /// Between when everything else would have allowed the start, and the start.
    core::Seconds waited{0};
    /// Resource, Calendar, Choice: what bound it before that wait, whatever else it waited for
    /// meanwhile: the screen's own step (Predecessor), emulsion (Store), its film or frame
    /// (Release), a resource that had only just come (Calendar). Begin: none of these.
    Cause before = Cause::Begin;
    core::Seconds stood{0};                    // since then
    std::optional<core::OperationId> goes_on;  // what the chain goes on with; nullopt: it ends
};

/// From the last operation of the order, whose end is the order's completion, back to a link
/// that goes on with nothing; first element = last operation. A wait for somebody, for a place, for
/// the end of a break or on purpose is a stop on the screen's own way: the next link is about its
/// own step before, or about the mixing, where emulsion was there later than that. Before its first
/// step, and of what shares an exposure, the next link is about `because`; where that one had
/// finished and only held the resource, about the operation whose start let it go. No link is about
/// an operation that starts after the one before it, none is met twice. Empty: the order has no
/// operations.
/// @pre the schedule passes sched/check.
std::vector<ChainLink> chain_of(const core::Problem& problem, const core::Schedule& schedule,
                                core::OrderId order);

/// Time elements of one resource over the time in which it is there (paid_time; without a calendar:
/// while the room is staffed), after reference names of ISO 22400-2. A batch counts once.
struct ResourceUse {
    core::ResourceId resource;
    core::Seconds staffed{0};  // capacity-seconds available
    core::Seconds working{0};  // of these in [start, work_end)
    core::Seconds holding{0};  // of these in [work_end, end)
    // Of resource_waits only:
    core::Seconds waited_for{0};  // sum over operations of the wait that this resource alone caused
    int on_late_chains = 0;       // links of chains of late orders that name it
};
/// @param room when the room is staffed: a place counts only then. Empty:
/// from the first start to the last end.
std::vector<ResourceUse> resource_use(const core::Problem& problem, const core::Schedule& schedule,
                                      const core::Calendar& room = {});
/// The same from the first start to the last end, with what each is waited for.
std::vector<ResourceUse> resource_waits(const core::Problem& problem,
                                        const core::Schedule& schedule);

/// When a resource is there for the run: its windows without the overtime that it might but does
/// not work. Windows of the day of the first start count whole, of later days to the last end.
/// Without a calendar: from the first start to the last end.
core::Calendar paid_time(const core::Problem& problem, const core::Schedule& schedule,
                         core::ResourceId resource);

/// When at least one of these is there.
core::Calendar staffed_time(const core::Problem& problem, const core::Schedule& schedule,
                            const std::vector<core::ResourceId>& people);

}  // namespace sched::search
