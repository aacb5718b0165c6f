#pragma once
// How late the orders of a problem are at least, together: the best order in which they can be
// done if only the content of work of every set of resources counts.

#include <cstdint>
#include <functional>
#include <vector>

#include "sched/search/bounds/bounds.hpp"

namespace sched::search {

/// What one operation surely takes from a group of resources.
struct GroupLoad {
    std::size_t operation = 0;
    std::int64_t work = 0;  // units * seconds
};

/// Resources of which some operations surely use one or another.
struct ResourceGroup {
    std::vector<core::ResourceId> resources;  // sorted
    std::int64_t capacity = 0;
    std::vector<GroupLoad> loads;
};

/// What the bound needs of a problem. Times in seconds after the start of the horizon.
struct OrderBoundData {
    const std::vector<ResourceGroup>& groups;
    const EarliestTimes& early;
    const std::vector<std::int64_t>& tail;  // per operation: from its work end to its order's end
    const std::vector<int>& order_of;       // per operation; -1: none
    const std::vector<std::int64_t>& done;  // per order: it cannot be complete sooner
};

/// Lower bound of the sum over orders of `cost`(order, completion), which must not fall as the
/// completion grows.
///
/// Say S are the orders complete first. Then the last of them is complete no sooner than
///   C(S) = max over groups g, heads h, tails q of  t_g(h, work in g of S's operations that start
///          no sooner than h and have q or more to go) + q,
/// t_g(h, w) being the instant by which g has offered w over its calendars since h. So
///   f(S) = min over o in S of f(S without o) + cost(o, max(C(S), done(o)))
/// bounds the cost of S; it is found best first, from all orders downwards. An order whose cost as
/// the last of S is the least it can ever cost goes last without looking at the others. (The
/// recursion over sets is that of Held and Karp 1962; Lawler 1964 uses it for tardiness.)
/// @param nodes sets looked at, at most; when they are used up the answer is the least of those
/// still open, which bounds as well.
std::int64_t order_bound(const core::Problem& problem, const OrderBoundData& data,
                         const std::function<std::int64_t(std::size_t, std::int64_t)>& cost,
                         std::int64_t nodes);

}  // namespace sched::search
