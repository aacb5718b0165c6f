#pragma once
// A queue with one line and first come, first served, from its recursion alone (Lindley 1952;
// Kiefer and Wolfowitz 1955 for several servers): whoever comes takes the server that is free
// first. No event and no engine: for tests that look at statistics, and beside the engine as a
// second answer.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace study_test {

/// @returns when each leaves. @param arrival sorted. @param work as many.
template <class T>
std::vector<T> recursion_departures(const std::vector<T>& arrival, const std::vector<T>& work,
                                    int servers) {
    std::vector<T> leaves(arrival.size()), free(static_cast<std::size_t>(servers), T{});
    for (std::size_t i = 0; i < arrival.size(); ++i) {
        const auto first = std::min_element(free.begin(), free.end());
        leaves[i] = *first = std::max(*first, arrival[i]) + work[i];
    }
    return leaves;
}

}  // namespace study_test
