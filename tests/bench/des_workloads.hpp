#pragma once
// Workloads A and B for measuring event engines, defined down to the last random number, and the
// bare loops that show what the same work costs without any engine. Used by coatroom-events and by
// its test.

#include <cmath>
#include <cstdint>
#include <vector>

#include "tests/support/line.hpp"

namespace workload {

using sched::engine::Tick;

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014), read by position: draw k of stream r is a
/// function of both.
class Stream {
public:
    Stream(std::uint64_t seed, std::uint64_t replication) : state_(mix(seed + replication)) {}
    /// @returns draw k as a number in [0, 1).
    double unit(std::uint64_t k) const {
        return static_cast<double>(mix(state_ + (k + 1) * 0x9E3779B97F4A7C15ULL) >> 11) * 0x1.0p-53;
    }

private:
    static std::uint64_t mix(std::uint64_t z) {
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
        return z ^ (z >> 31);
    }
    std::uint64_t state_;
};

struct Draws {
    std::vector<Tick> interarrival;
    std::vector<Tick> duration;
    sched::engine::LineInput input() const { return {interarrival, duration, {}}; }
};

/// A: M/M/1, arrival rate 0.9 and service rate 1 per second, microseconds.
inline void draw_a(std::size_t n, std::uint64_t seed, Draws& d) {
    d.interarrival.resize(n);
    d.duration.resize(n);
    const Stream s(seed, 0);
    for (std::size_t i = 0; i < n; ++i) {
        d.interarrival[i] =
            static_cast<Tick>(std::floor(-std::log(1.0 - s.unit(2 * i)) / 0.9 * 1e6));
        d.duration[i] = static_cast<Tick>(std::floor(-std::log(1.0 - s.unit(2 * i + 1)) * 1e6));
    }
}

inline sched::engine::LineModel model_a() {
    return {.pools = {{.capacity = 1}}, .steps = {{.pool = 0}}};
}

inline constexpr std::size_t items_b = 120;
inline constexpr std::size_t steps_b = 12;

/// B: re-entrant line; pools stand 2, bench 1, dryer 12, exposure unit 1, booth 1, operators 3.
inline sched::engine::LineModel model_b(sched::engine::HandOver hand_over) {
    constexpr std::int32_t stand = 0, bench = 1, dryer = 2, unit = 3, booth = 4, people = 5;
    return {.pools = {{2}, {1}, {12}, {1}, {1}, {3}},
            .steps = {{booth, people},
                      {dryer},
                      {bench, people},
                      {stand, people},
                      {dryer},
                      {stand, people},
                      {dryer},
                      {unit},
                      {booth, people},
                      {dryer},
                      {bench, people},
                      {dryer}},
            .hand_over = hand_over};
}

inline void draw_b(std::uint64_t seed, std::uint64_t replication, Draws& d) {
    static constexpr double base[steps_b] = {240,  1200, 120, 360,  1500, 300,
                                             1500, 210,  300, 1200, 240,  600};
    d.interarrival.resize(items_b);
    d.duration.resize(items_b * steps_b);
    const Stream s(seed, replication);
    for (std::size_t i = 0; i < items_b; ++i) {
        d.interarrival[i] = static_cast<Tick>(std::floor(480e6 * (0.5 + s.unit(13 * i))));
        for (std::size_t j = 0; j < steps_b; ++j) {
            d.duration[i * steps_b + j] =
                static_cast<Tick>(std::floor(base[j] * 1e6 * (0.5 + s.unit(13 * i + j + 1))));
        }
    }
}

struct Sums {
    std::int64_t first = 0;  // A: sum of times in the system; B: sum of departures
    std::int64_t last = 0;   // sum of last departures
    friend bool operator==(const Sums&, const Sums&) = default;
};

}  // namespace workload
