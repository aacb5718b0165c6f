#pragma once
// Kinds of queueing systems as Problems with arrivals, through queue_run.hpp. Lengths and times in
// units of 1e6 ticks unless they are Tick.

#include <cstdint>
#include <nlohmann/json.hpp>
#include <vector>

#include "tests/support/queue_figures.hpp"

namespace study_test {

using nlohmann::json;

inline constexpr int without_limit = 1 << 20;

std::vector<Tick> arrivals(const std::vector<double>& gaps);

/// Stations one after another, first come first served or by rank.
struct Line {
    std::vector<Tick> arrival;
    std::vector<std::vector<double>> service;  // per station
    std::vector<int> servers;                  // the same
    std::vector<std::int64_t> rank;            // per customer; empty: as they come
};

/// @param first if not null: who is at the first station.
Record serve(const Line& line, Levels* first = nullptr);

/// Whoever finds all servers busy and all places to wait taken is turned away.
Record serve_or_lose(const std::vector<Tick>& arrival, const std::vector<double>& service,
                     int servers, int places);

/// Processor sharing by the drying clock.
Record share(const std::vector<Tick>& arrival, const std::vector<double>& service);

/// A unit that takes up to `most` at once, whoever is there. @param every only at multiples of its
/// length.
Figures serve_together(const std::vector<Tick>& arrival, std::size_t most, double length,
                       bool every, std::size_t warm);

/// Customers that never leave: from station to station, over and over. Means per station, in units.
struct Closed {
    std::size_t customers = 1;
    std::vector<double> means;
    std::vector<int> servers;  // < 0: without limit
};

struct ClosedSeen {
    std::vector<Levels> at;                         // per station: asked to done
    double rounds = 0.0;                            // visits of the last station that ended
    double waits = 0.0, stays = 0.0, served = 0.0;  // at station 1, units; how often
    Tick from = 0, until = 0;
    double span() const { return static_cast<double>(until - from) / ticks_per_unit; }
};

ClosedSeen go_round(const Closed& net, const Draws& draws, std::uint64_t subject, std::size_t n);

/// One server; whoever is of a lower class is called away whenever one of a higher is there.
/// @returns departures.
std::vector<Tick> called_away(const std::vector<Tick>& arrival, const std::vector<double>& service,
                              const std::vector<std::size_t>& kind, std::size_t classes);

/// A machine that always has work, and fails by the clock: times from one end to the next.
Figures fails(const json& p, const Draws& draws, std::uint64_t subject, std::size_t n);

/// Three stations; after the last some go back to the first.
Figures go_back(const json& p, const Draws& draws, std::uint64_t subject, std::size_t n,
                std::size_t warm);

}  // namespace study_test
