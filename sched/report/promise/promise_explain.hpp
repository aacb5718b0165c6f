#pragma once
// The chain that decides an enquiry's date, in the words of the plan's reasons.

#include "sched/promise/promise.hpp"

namespace sched::report {

/// Fills promise.chain from the desk's plan with the enquiry. Nothing for an impossible one.
void explain_promise(const study::PromiseDesk::Planned& plan, study::Promise& promise);

}  // namespace sched::report
