#pragma once
// How much of the coats that are to come the pots hold for sure.

#include <cstdint>
#include <map>
#include <vector>

namespace sched::compile {

/// Each coat is taken whole from one pot that still holds as much; coats come in any order. One of
/// c ml finds no pot only when each has lost more than its volume less c, and what a pot has lost
/// is a sum of coats. So W ml of coats fit for sure where, for every c, W - c is less than the sum
/// over the pots of the least such loss (any-fit packing; of coats all alike each pot holds a whole
/// number).
class PotCapacity {
public:
    /// @param coats ml of the coats; those of 0 ml are left out.
    explicit PotCapacity(const std::vector<std::int64_t>& coats);
    void add_pot(std::int64_t volume);
    /// A pot that is known to have given so much and gives no more.
    void add_given(std::int64_t amount);
    /// ml of coats that fit in whatever order they come; a little above it where none is so small.
    std::int64_t total() const;

private:
    std::vector<std::int64_t> sizes_;                            // each once, rising
    std::vector<std::int64_t> lost_;                             // by size: sum over the pots
    std::map<std::int64_t, std::vector<std::int64_t>> loss_of_;  // of one pot, by its volume
};

}  // namespace sched::compile
