#pragma once
// The judge's word on a schedule, printed.

#include "sched/core/schedule.hpp"

namespace sched::app {

/// Whether the independent checker finds nothing; prints what it finds.
bool passes(const core::Problem& problem, const core::Schedule& schedule);

}  // namespace sched::app
