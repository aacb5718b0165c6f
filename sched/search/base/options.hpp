#pragma once
// What every search of this folder is told: how long, how many threads, which seed, and how to be
// interrupted. Budgets in evaluations give the same result for the same seed whatever `threads`.

#include <cstdint>
#include <functional>
#include <optional>

#include "sched/core/schedule.hpp"

namespace sched::search {

struct Budget {
    std::optional<double> seconds;            // wall clock
    std::optional<std::int64_t> evaluations;  // schedules generated
};

struct Progress {
    std::int64_t evaluations = 0;
    double seconds = 0.0;
    const core::Value* value = nullptr;  // best so far; null: none yet
    const core::Value* bound = nullptr;  // null: none yet
};

struct SearchOptions {
    Budget budget;
    int threads = 1;
    std::uint64_t seed = 1;
    std::function<bool()> stop;  // asked often, from any thread; true: give the best so far
    std::function<void(const Progress&)>
        progress;  // called about twice a second, never concurrently
};

}  // namespace sched::search
