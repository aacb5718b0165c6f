#pragma once
// What the entries of a day amount to: where each screen is by its marks, who and what is not
// there, which films have come, and which marks contradict each other. The last entry counts;
// nothing is dropped.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sched/journal/entry.hpp"

namespace sched::journal {

/// A step of a screen, by its marks.
struct StepSoFar {
    std::string step;  // key
    int round = 1;
    std::optional<SimTime> start, done;
    std::string station, person;  // as the last start said, else the last done; empty: not said
    std::int64_t last = 0;        // highest entry that says something of it
    friend bool operator==(const StepSoFar&, const StepSoFar&) = default;
};

struct ScreenSoFar {
    std::string tag;
    std::vector<StepSoFar> steps;  // since the last remake, in the order of their first marks
    std::optional<Entry> remake;   // the last one
    int remakes = 0;
    std::int64_t last = 0;  // highest entry about it, of those that count
    friend bool operator==(const ScreenSoFar&, const ScreenSoFar&) = default;
};

/// A station out of work, or a person who is not there.
struct AwaySoFar {
    std::string name;
    SimTime from{};
    std::optional<SimTime> until;  // none: till further notice
    std::string reason;
    std::int64_t last = 0;
    friend bool operator==(const AwaySoFar&, const AwaySoFar&) = default;
};

/// A film, a frame from the press, a pot that was opened or is empty: since when, or from when on.
struct ThingSoFar {
    Mark mark = Mark::Film;
    std::string name;
    SimTime time{};
    std::int64_t last = 0;
    friend bool operator==(const ThingSoFar&, const ThingSoFar&) = default;
};

/// Marks that cannot both be right.
struct Contradiction {
    std::string about;                  // screen, station or person
    std::vector<std::int64_t> entries;  // rising
    std::string words;
    /// A later entry about the same that fits; 0: still open. Who takes one of them back settles
    /// it as well: then it is not listed at all.
    std::int64_t settled_by = 0;
    friend bool operator==(const Contradiction&, const Contradiction&) = default;
};

struct SoFar {
    std::vector<ScreenSoFar> screens;         // by tag
    std::vector<AwaySoFar> stations, people;  // by name, then from
    std::vector<ThingSoFar> things;           // by mark, then name
    std::vector<Contradiction> contradictions;
    friend bool operator==(const SoFar&, const SoFar&) = default;

    const ScreenSoFar* screen(const std::string& tag) const;
};

/// @param entries all of the journal, ids rising. @param from what happened before belongs to
/// another day: only stations that are out of work since then count.
/// @param until what happens later has not happened yet, but for films, frames, stations and
/// people, of which it is announced; none: all.
SoFar so_far(const std::vector<Entry>& entries, SimTime from, std::optional<SimTime> until = {});

}  // namespace sched::journal
