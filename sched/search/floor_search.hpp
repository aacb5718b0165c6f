#pragma once
// Search for problems that only the decoder can build: shared drying, holding, stores, batches,
// people with shifts. Rules first, then iterated local search over priority lists.

#include "sched/core/solution.hpp"
#include "sched/search/options.hpp"

namespace sched::search {

/// Any Problem. One evaluation = one decoded sequence. Starts differ by seed; each begins from the
/// best rules (engine/rules.hpp), then moves jobs and orders in the list, lets blocks wait on
/// purpose, and accepts what is better than the value some moves ago (late acceptance, Burke and
/// Bykov 2017). Every schedule it keeps was decoded, so it keeps every rule by construction.
core::Solution search_floor(const core::Problem& problem, const SearchOptions& options);

}  // namespace sched::search
