#pragma once
// Chance without a state: every random number is a pure function of what it is for. A screen meets
// the same random variation whether or not a second cabinet stands beside it, which is what common
// random numbers need; adding a station, an order or a thread changes no other draw.
//
// Generator: Philox4x64-10 (Salmon, Moraes, Dror and Shaw, "Parallel random numbers: as easy as
// 1, 2, 3", SC 2011) from Random123. Key = (seed, replication), counter = (subject, item, purpose,
// block); draw n is word n mod 4 of block n / 4.

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

namespace sched::engine {

/// A stable 64-bit name: FNV-1a over the bytes, then a finalising mix. Equal text, equal name, on
/// every machine and in every order of reading; two different texts of one room collide with a
/// chance of about n^2 / 2^65.
std::uint64_t name_key(std::string_view text);

/// Joins two names into one, order matters: step and round of it, order and line of it.
std::uint64_t join_keys(std::uint64_t a, std::uint64_t b);

/// What a draw is for. Use names, never positions in a list: an index shifts when something is
/// added in front of it.
struct DrawFor {
    std::uint64_t subject = 0;  // name_key of an order, station or person
    std::uint64_t item = 0;     // number within it: the screen's number in its order, the day
    std::uint64_t purpose = 0;  // name_key of the step or kind of event
    std::uint64_t number = 0;   // attempt, or position in a long sequence
};

/// One replication's random variation. A value of two words: copy it freely, call it from any
/// thread.
class Draws {
public:
    constexpr Draws(std::uint64_t seed, std::uint64_t replication)
        : seed_(seed), replication_(replication) {}

    /// The four 64-bit words of one block; `number` counts blocks here.
    std::array<std::uint64_t, 4> block(const DrawFor& what) const;

    /// @returns u in the open interval (0, 1), a multiple of 2^-53 that is never 0 or 1; 1 - u is
    /// exact and as likely (antithetic draws). Mean 1/2.
    double uniform(const DrawFor& what) const;

    /// out[i] = uniform of number what.number + i, four to a block.
    void fill(DrawFor what, std::span<double> out) const;

    constexpr std::uint64_t seed() const { return seed_; }
    constexpr std::uint64_t replication() const { return replication_; }

private:
    std::uint64_t seed_;
    std::uint64_t replication_;
};

/// Inverse of the standard normal distribution, p in (0, 1); relative error about 1e-16.
/// Source: Wichura, "Algorithm AS 241", Applied Statistics 37 (1988) 477-484, routine PPND16.
double normal_inverse(double p);

/// Inverse of the exponential distribution of the given mean: -mean ln(1 - u). u in (0, 1).
double exponential_inverse(double mean, double u);

}  // namespace sched::engine
