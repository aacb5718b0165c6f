#pragma once
// The random numbers of the searches: xoshiro256** (Blackman & Vigna 2018) seeded by SplitMix64.
// Not std: distributions there differ between libraries, and plans must not.

#include <array>
#include <cstdint>

namespace sched::search {

class Rng {
public:
    /// Streams of one seed with different `stream` are independent for all that matters here.
    explicit Rng(std::uint64_t seed, std::uint64_t stream = 0) {
        std::uint64_t x = seed * 0x9E3779B97F4A7C15u + stream * 0xD1B54A32D192ED03u + 1;
        for (auto& word : state_) {
            x += 0x9E3779B97F4A7C15u;
            std::uint64_t z = x;
            z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
            z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
            word = z ^ (z >> 31);
        }
    }

    std::uint64_t next() {
        const std::uint64_t result = rotate(state_[1] * 5, 7) * 9;
        const std::uint64_t t = state_[1] << 17;
        state_[2] ^= state_[0];
        state_[3] ^= state_[1];
        state_[1] ^= state_[2];
        state_[0] ^= state_[3];
        state_[2] ^= t;
        state_[3] = rotate(state_[3], 45);
        return result;
    }

    /// Uniform in 0 .. n-1. The bias of the multiply-shift is below n / 2^32. @pre 0 < n
    int below(int n) {
        return static_cast<int>(((next() >> 32) * static_cast<std::uint64_t>(n)) >> 32);
    }

    /// Uniform in [0, 1).
    double unit() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }

private:
    static std::uint64_t rotate(std::uint64_t x, int k) { return (x << k) | (x >> (64 - k)); }
    std::array<std::uint64_t, 4> state_{};
};

}  // namespace sched::search
