#pragma once
// What makes a room's day odd: short-simulated pots, coating machines, cabinets that type beside
// such that compute, steps that take no time, closings, nights, people who are missing. And what
// happens in the middle of a planned day: a station fails with somebody in it, somebody goes home,
// a screen takes longer, is spoilt or is further than planned, a frame turns up.

#include "model/room/order.hpp"
#include "sched/app/parts/question.hpp"
#include "sched/report/document/plan_document.hpp"

namespace random_scenario {

/// The room of that seed with some of these.
model::Scenario make_odd(std::uint64_t seed);

enum class Told {
    Possible,  // no screen is further than planned where the plan has another one by now
    Anything,
};

/// A moment of the plan's day and what has happened by then, as state.yaml could say it; the
/// scenario's files may have changed, too.
sched::app::Question happened(const sched::app::Question& planned,
                              const sched::report::PlanDocument& plan, std::uint64_t seed,
                              Told what = Told::Possible);

}  // namespace random_scenario
