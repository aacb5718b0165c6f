#pragma once
// A pot is mixed when its first coat wants it, not hours before: its life runs from then on, and
// what is still to be bought may come later.

#include <functional>

#include "sched/app/parts/find_plan.hpp"

namespace sched::app {

/// So long before the first coat from it a pot is to be ready, stood and all: a coat may come
/// sooner than planned, and mixing may take longer.
inline constexpr core::Seconds pot_waits{30 * 60};

/// The search books what nobody waits for as soon as somebody has the time. Each pot that is ready
/// sooner than pot_waits before its first coat is mixed later, as late as the mixing place and
/// whoever can do it are free, or as late as the order of work allows if what was done beside it
/// comes sooner; no aim gets worse, but by minutes the end. Its turns come before those of all that
/// begins later, and pots that are alike are numbered in the order in which they are mixed, those
/// in stock before those that are to be bought. What has begun or is pinned stays. Of a plan that
/// hangs (FoundPlan::changes) pots are moved that are mixed at another time than it says or whose
/// first coat comes later, and nothing else.
/// @param earlier the plan that hangs, by operations; empty: none.
/// @param stop asked before every try; pots that have not been moved by then stay. May be empty.
void mix_when_wanted(FoundPlan& plan, const search::EarlierPlan& earlier = {},
                     const std::function<bool()>& stop = {});

}  // namespace sched::app
