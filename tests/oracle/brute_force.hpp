#pragma once
// The optimum by trying everything, for problems small enough; and the textbook's own way of
// executing a sequence. Shares nothing with engine or search.

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "tests/oracle/build.hpp"

namespace oracle {

using Sequence = std::vector<OperationId>;

/// Earliest starts by longest paths (Bellman-Ford) when each resource works through its operations
/// in the order given. Reads lags (minimum and maximum), releases, start windows, deadlines and the
/// horizon.
/// @param per_resource in the order of Problem::resources. @returns nullopt if the order cannot be
/// kept.
/// @pre one mode an operation, at most one need, one resource to choose from, no calendars, stages,
/// batches, stores.
std::optional<Schedule> left_shifted(const Problem& problem,
                                     const std::vector<Sequence>& per_resource);

/// Serial schedule generation (Kelley 1963): each operation in the order of the list as early as
/// its predecessors, release and the capacity of its resource allow, into gaps too. The lists reach
/// an optimum of every regular objective (Kolisch 1996). @pre the list keeps precedence; as above,
/// cumulative resources, no maximum lags.
Schedule serial(const Problem& problem, const Sequence& list);

/// List scheduling as Graham 1966 defines it: whenever a resource of any_of is free it takes the
/// first operation of the list whose predecessors are done; the lowest-numbered free one takes
/// first.
Schedule list_scheduled(const Problem& problem, const Sequence& list);

struct Optimum {
    std::optional<Schedule> schedule;  // the first found
    Value value;
    std::int64_t tried = 0;
    std::int64_t reached = 0;  // how many of those tried have this value
};

/// All orders on all (unary) resources, left-shifted.
Optimum by_orders(const Problem& problem);
/// All lists that keep precedence, by serial schedule generation.
Optimum by_lists(const Problem& problem);
/// All permutations of 0 .. n-1, each made into a schedule (nullopt: none) by the caller.
Optimum by_permutations(
    const Problem& problem, std::size_t n,
    const std::function<std::optional<Schedule>(const std::vector<std::size_t>&)>& make);

/// @returns the operations that need resource r, in Problem order.
Sequence operations_on(const Problem& problem, ResourceId r);
Sequence sequence(std::initializer_list<int> numbers_from_1);

}  // namespace oracle
