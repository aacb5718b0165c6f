// How much of the coats the pots hold for sure, against every order of the coats and every choice
// of the pots that each is taken from.

#include "sched/compile/pot_capacity.hpp"

#include <algorithm>
#include <numeric>
#include <random>

#include "tests/catch.hpp"

using sched::compile::PotCapacity;

namespace {

using Amounts = std::vector<std::int64_t>;

PotCapacity capacity_of(const Amounts& pots, const Amounts& coats) {
    PotCapacity capacity(coats);
    for (const std::int64_t pot : pots)
        capacity.add_pot(pot);
    return capacity;
}

// Whoever takes next, from whichever pot that still holds it: does each find one?
bool all_fit(Amounts& left, Amounts& coats) {
    for (std::size_t i = 0; i < coats.size(); ++i) {
        const std::int64_t coat = coats[i];
        bool somewhere = false;
        coats.erase(coats.begin() + static_cast<std::ptrdiff_t>(i));
        for (std::int64_t& pot : left) {
            if (pot < coat) continue;
            somewhere = true;
            pot -= coat;
            const bool rest = all_fit(left, coats);
            pot += coat;
            if (!rest) return false;
        }
        coats.insert(coats.begin() + static_cast<std::ptrdiff_t>(i), coat);
        if (!somewhere) return false;
    }
    return true;
}

}  // namespace

// Arithmetic: 92 goes into 300 three times, into 260 twice.
TEST_CASE("of coats that are all alike each pot holds a whole number", "[compile]") {
    CHECK(capacity_of({300, 300, 300, 300}, {92}).total() >= 12 * 92);
    CHECK(capacity_of({300, 300, 300}, {92}).total() < 10 * 92);
    CHECK(capacity_of({260, 300}, {92, 92}).total() >= 5 * 92);
    CHECK(capacity_of({260, 300}, {92, 92}).total() < 6 * 92);
    PotCapacity given({92});
    given.add_given(2 * 92);
    given.add_pot(91);
    CHECK(given.total() >= 2 * 92);
    CHECK(given.total() < 3 * 92);
}

TEST_CASE("what is held for sure fits in every order and from every pot", "[compile]") {
    std::mt19937_64 draw(20270914);
    const auto upto = [&](std::int64_t least, std::int64_t most) {
        return least +
               static_cast<std::int64_t>(draw() % static_cast<std::uint64_t>(most - least + 1));
    };
    int sure = 0, above = 0;
    for (int round = 0; round < 3000; ++round) {
        Amounts pots(static_cast<std::size_t>(upto(1, 3)));
        for (std::int64_t& pot : pots)
            pot = upto(2, 14);
        const Amounts kinds{upto(1, 6), upto(1, 6)};
        Amounts coats(static_cast<std::size_t>(upto(1, 5)));
        for (std::int64_t& coat : coats)
            coat = kinds[static_cast<std::size_t>(upto(0, 1))];
        const std::int64_t wanted = std::accumulate(coats.begin(), coats.end(), std::int64_t{0});
        if (capacity_of(pots, coats).total() < wanted) continue;
        ++sure;
        // More than what is left when each pot keeps a rest that is a little less than a coat.
        const std::int64_t largest = *std::max_element(coats.begin(), coats.end());
        std::int64_t rests = 0;
        for (const std::int64_t pot : pots)
            rests += std::max<std::int64_t>(0, pot - (largest - 1));
        above += rests < wanted ? 1 : 0;
        INFO("round " << round);
        CHECK(all_fit(pots, coats));
    }
    CHECK(sure > 500);
    CHECK(above > 100);
}
