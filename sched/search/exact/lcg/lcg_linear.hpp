#pragma once
// Weighted sums for the exact solver: bound consistency with reasons that use up the slack.
// Source: T. Feydy & P. J. Stuckey, "Lazy clause generation reengineered", CP 2009 (linear
// reasons).

#include <vector>

#include "sched/search/exact/lcg/lcg_engine.hpp"

namespace sched::search::lcg {

struct Weighted {
    std::int64_t weight = 1;  // > 0; a negative coefficient is a positive one on the flipped side
    Side side = -1;
};

/// sum of weight * value(side) <= limit + value(total)
void post_linear(Engine& engine, std::vector<Weighted> terms, std::int64_t limit, Side total);

}  // namespace sched::search::lcg
