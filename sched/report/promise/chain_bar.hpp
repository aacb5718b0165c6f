#pragma once
// The chain that decides a date as one bar: waiting, work and drying after each other.

#include <string>
#include <vector>

#include "sched/promise/promise.hpp"

namespace sched::report {

/// A stretch of the chain; neighbours of one kind are one.
struct ChainStretch {
    enum class Kind { Waiting, Work, Drying };
    Kind kind = Kind::Waiting;
    core::SimTime from{}, to{};
    friend bool operator==(const ChainStretch&, const ChainStretch&) = default;
};

/// Without a gap from the first link's wait to `ready`.
std::vector<ChainStretch> chain_stretches(const std::vector<study::PromiseLink>& chain,
                                          core::SimTime ready);

/// SVG with its key and its ends in words; a wait of more than three hours is drawn as three, with
/// a break. Empty without a chain.
std::string chain_bar(const std::vector<study::PromiseLink>& chain, core::SimTime ready);

}  // namespace sched::report
