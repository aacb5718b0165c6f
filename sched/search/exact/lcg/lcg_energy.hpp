#pragma once
// Time-table edge finding for the exact solver: what must run inside a window, with what surely
// covers parts of it, against the window's capacity. Finds overloads and moves starts forward; with
// reasons.
//
// Sources: P. Vilím, "Timetable edge finding filtering algorithm for discrete cumulative
// resources", CPAIOR 2011; A. Schutt, T. Feydy, P. J. Stuckey, "Explaining time-table-edge-finding
// propagation for the cumulative resource constraint", CPAIOR 2013.

#include <vector>

#include "sched/search/exact/lcg/lcg_cumulative.hpp"

namespace sched::search::lcg {

/// Posts both directions. O(n²) a call, after everything cheaper.
void post_energy(Engine& engine, const std::vector<Use>& uses, int capacity);

}  // namespace sched::search::lcg
