#pragma once
// Workloads A and B for measuring event engines, defined down to the last random number, through
// the engine that `coatroom weeks` runs on. Used by coatroom-events and by its test.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include "tests/support/queue_run.hpp"

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

inline constexpr std::size_t items_b = 120;
inline constexpr std::size_t steps_b = 12;

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

struct Outcome {
    Sums sums;
    std::int64_t logical = 0;  // arrivals and ends of steps
};

/// A as a station of one and customers in windows.
inline Outcome run_a(const Draws& d) {
    using namespace queue_run;
    Ways ways;
    const int way = ways.way({Ways::work(ways.station(1))});
    Outcome o;
    std::size_t come = 0;
    Tick at = 0;
    Traffic traffic;
    traffic.customers_a_window = 32;
    traffic.next = [&](Customer& c) {
        if (come == d.interarrival.size()) return false;
        c.number = static_cast<std::uint32_t>(come);
        c.release = at += d.interarrival[come];
        c.then(way, {d.duration[come++]});
        ++o.logical;
        return true;
    };
    traffic.passed = [&](const Customer& c, std::size_t, const CarriedPart& p) {
        const Tick end = p.operations[0].work_end;
        o.sums.first += end - c.release;
        o.sums.last = std::max(o.sums.last, end);
        ++o.logical;
    };
    run(ways, traffic);
    return o;
}

/// B: re-entrant line; first come, first served at every place. Who has a place waits there for
/// somebody, where the step needs one.
inline Outcome run_b(const Draws& d) {
    using namespace queue_run;
    using namespace sched::core;
    Ways ways;
    const ResourceId stand = ways.station(2), bench = ways.station(1), dryer = ways.station(12),
                     unit = ways.station(1), booth = ways.station(1), people = ways.station(3);
    const auto alone = [&](ResourceId place) { return ways.way({Ways::work(place)}); };
    const auto attended = [&](ResourceId place) {
        Operation take{.name = "take", .max_stretch = std::nullopt};
        take.modes = {Mode{.needs = {{.any_of = {place}}}}};
        Operation work = Ways::work(place);
        work.modes[0].needs.push_back({.any_of = {people}});
        return ways.way({take, work},
                        {TimeLag{.from = OperationId{0}, .to = OperationId{1}, .max = Seconds{0}}});
    };
    const int dries = alone(dryer), coats = attended(booth), cleans = attended(bench),
              stands = attended(stand), exposes = alone(unit);
    const int way[steps_b] = {coats, dries,   cleans, stands, dries,  stands,
                              dries, exposes, coats,  dries,  cleans, dries};
    Outcome o;
    std::size_t come = 0;
    Tick at = 0;
    Traffic traffic;
    traffic.first_come = true;
    traffic.customers_a_window = items_b;
    traffic.next = [&](Customer& c) {
        if (come == items_b) return false;
        c.number = static_cast<std::uint32_t>(come);
        c.release = at += d.interarrival[come];
        for (std::size_t s = 0; s < steps_b; ++s) {
            const Tick work = d.duration[come * steps_b + s];
            if (way[s] == dries || way[s] == exposes)
                c.then(way[s], {work});
            else
                c.then(way[s], {nominal, work});
        }
        ++come;
        ++o.logical;
        return true;
    };
    traffic.passed = [&](const Customer&, std::size_t visit, const CarriedPart& p) {
        ++o.logical;
        if (visit + 1 < steps_b) return;
        const Tick end = p.operations.back().work_end;
        o.sums.first += end;
        o.sums.last = std::max(o.sums.last, end);
    };
    run(ways, traffic);
    return o;
}

}  // namespace workload
