#pragma once
// What the rows of tests/data/study/queueing.csv ask for, measured from the instants of a schedule.
// Time unit: 1e6 ticks.

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "sched/engine/draws.hpp"
#include "sched/engine/event_queue.hpp"

namespace study_test {

using sched::engine::Draws;
using sched::engine::name_key;
using sched::engine::Tick;
using Figures = std::map<std::string, double>;

inline constexpr double ticks_per_unit = 1e6;

/// @returns at least one tick: what takes no time asks for nobody.
Tick to_ticks(double t);

/// A sequence of positive times drawn from a law with given mean and squared coefficient of
/// variation; 0 constant, 1/k Erlang-k, 1 exponential, > 1 two exponentials with balanced means.
class Times {
public:
    Times(Draws draws, std::uint64_t subject, const char* purpose)
        : draws_(draws), subject_(subject), purpose_(name_key(purpose)) {}
    std::vector<double> of(std::size_t n, double mean, double scv) const;
    std::vector<double> uniforms(std::size_t n) const;

private:
    Draws draws_;
    std::uint64_t subject_;
    std::uint64_t purpose_;
};

/// What happened to each customer; departure -1: lost.
struct Record {
    std::vector<Tick> arrival;
    std::vector<Tick> departure;
    std::vector<Tick> queued;
    int servers = 1;  // for Lq; 0: no such thing
};

/// Measures over the customers after `warm` and the time from their first arrival to the last one.
/// Throws when Little's law or conservation fails on the whole run, exactly, in whole ticks.
Figures figures_of(const Record& r, std::size_t warm);

/// How many are inside over time, from intervals in any order.
class Levels {
public:
    void add(Tick from, Tick to) {
        changes_.emplace_back(from, 1);
        changes_.emplace_back(to, -1);
    }
    struct Shares {
        double mean = 0.0;  // number inside
        double some = 0.0;  // share of time with anybody
    };
    Shares over(Tick from, Tick to);

private:
    std::vector<std::pair<Tick, int>> changes_;
};

}  // namespace study_test
