#pragma once
// Draws for invented rooms: the same for the same seed on every machine.

#include <cstdint>

namespace random_scenario {

class Dice {
public:
    explicit Dice(std::uint64_t seed) : state_(seed * 0x9E3779B97F4A7C15u + 77) {}
    int below(int n) {  // SplitMix64; the bias of % is below n / 2^64
        std::uint64_t z = (state_ += 0x9E3779B97F4A7C15u);
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
        return static_cast<int>((z ^ (z >> 31)) % static_cast<std::uint64_t>(n));
    }
    int from_to(int a, int b) { return a + below(b - a + 1); }
    bool chance(int percent) { return below(100) < percent; }

private:
    std::uint64_t state_;
};

}  // namespace random_scenario
