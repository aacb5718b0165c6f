#pragma once
// Ends that were noted late, several at once: whoever has wet hands does four screens and then
// touches four times. What such a touch says is not how long the work took, only how long at most.

#include <cstdint>
#include <span>
#include <vector>

namespace sched::study {

/// One piece of work: begun, noted as done, and where that was noted (-1: not known). Any unit.
struct NotedEnd {
    double start = 0.0;
    double noted = 0.0;
    int device = -1;
};

struct BunchOptions {
    double within = 60.0;   // from the first to the last touch of a bunch, s
    std::size_t least = 3;  // touches that make one
    double apart = 2.0;     // their starts lie at least so many times as far apart as the touches,
    double spread = 120.0;  // and at least so long, s
};

/// Per piece whether its end belongs to a bunch. Touches of a bunch follow each other on one
/// device; starts far apart tell it from a batch that was really done at once. O(n log n).
std::vector<char> in_bunches(std::span<const NotedEnd> pieces, const BunchOptions& options = {});

}  // namespace sched::study
