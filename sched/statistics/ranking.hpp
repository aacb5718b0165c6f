#pragma once
// Which of several options is best, with a stated chance to be right, in as few replications as
// that takes. Fully sequential procedure of Kim and Nelson, "A fully sequential procedure for
// indifference-zone selection in simulation", ACM TOMACS 11 (2001) 251-273, with c = 1; valid with
// common random numbers, because it looks at differences only.

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

namespace sched::study {

struct RankingOptions {
    double indifference = 1.0;   // delta > 0: smaller differences do not matter
    double confidence = 0.95;    // wanted probability of correct selection, > 1/k
    std::size_t first = 10;      // replications of every option before any is left out, >= 2
    std::size_t most = 100'000;  // replications of one option; then the best so far, undecided
    bool largest = true;         // false: smallest mean is best
    std::size_t step =
        1;  // replications between looks (a look costs nothing but a batch runs in parallel)
};

/// Where the procedure stands after a look; also what it ends with.
struct Ranking {
    int best = -1;         // of those still in, by mean
    bool decided = false;  // one is left: it is best, or within the indifference zone
    std::vector<bool> in;  // per option
    std::vector<std::size_t> replications;  // per option
    std::vector<double> mean;               // per option, over its replications
    std::size_t total = 0;                  // replications of all options
    /// Undecided: so many more replications of those still in would decide it if their differences
    /// stay as they are; an estimate, not a promise. 0: decided.
    std::size_t further = 0;
};

/// @param sample gives one value for each of the options named, of replications [from, to):
/// result[o][r - from]. Called with the options that are still in.
/// @param look called after every look; false ends the search undecided.
Ranking select_best(int options, const RankingOptions& settings,
                    const std::function<std::vector<std::vector<double>>(
                        std::span<const int> options, std::size_t from, std::size_t to)>& sample,
                    const std::function<bool(const Ranking&)>& look = {});

}  // namespace sched::study
