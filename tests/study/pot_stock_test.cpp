// Pots of a long run by hand: one emulsion that ends, four mixes.

#include "sched/simulate/pot_stock.hpp"

#include "tests/catch.hpp"

using namespace sched;
using study::PotStock;

namespace {

compile::RoomProblem four_mixes() {
    compile::RoomProblem room;
    room.problem.stores.resize(5);
    compile::SpareEmulsion blue{.emulsion = "blue"};
    for (std::size_t m = 0; m < 4; ++m) {
        blue.mixes.push_back(
            {.store = core::StoreId{m}, .first = static_cast<int>(3 * m), .count = 3, .volume = 1});
    }
    blue.life = model::Seconds{100};
    room.spare_emulsions.push_back(blue);
    compile::SpareEmulsion pink{.emulsion = "pink"};  // comes ready
    pink.mixes.push_back({.store = core::StoreId{std::size_t{4}}, .first = 12});
    room.spare_emulsions.push_back(pink);
    return room;
}

}  // namespace

TEST_CASE("a pot is used until it ends, and what is left then is gone", "[pots]") {
    PotStock pots(four_mixes());
    CHECK(pots.end());
    CHECK(pots.mixed(0));
    CHECK_FALSE(pots.mixed(1));
    CHECK(pots.life(0) == 100);
    pots.add(0, 1, 900, 50);
    pots.add(0, -1, 400, 200);  // in the last store that is free
    CHECK(pots.left_at(0, 49) == 1300);
    CHECK(pots.left_at(0, 50) == 400);
    CHECK(pots.free_mixes(0, {1, 0, 0, 0}) == std::vector<int>{2});

    std::vector<engine::CompiledStore> stores(5);
    pots.put(stores, 10, false);
    CHECK(stores[1].initial == 900);
    CHECK(stores[1].until == 40);
    CHECK(stores[3].initial == 400);
    CHECK(stores[0].life == 100);
    CHECK(pots.take(3, 150));
    CHECK_FALSE(pots.take(4, 150));
    pots.close(60);
    CHECK(pots.ended() == 1);
    CHECK(pots.left_at(0, 60) == 250);

    std::vector<engine::CompiledStore> kept(5);
    pots.put(kept, 10, true);
    CHECK(kept[3].initial == 250);
    CHECK(kept[3].until == engine::never);
    CHECK(kept[0].life == engine::never);
}

TEST_CASE("more pots than half of the stores: the two that end nearest stand in one", "[pots]") {
    PotStock pots(four_mixes());
    pots.add(0, 0, 100, 50);
    pots.add(0, 1, 200, 90);
    pots.add(0, 2, 400, 60);
    CHECK(pots.free_mixes(0, {0, 0, 0, 0}) == std::vector<int>{2, 3});
    CHECK(pots.left_at(0, 49) == 700);
    CHECK(pots.left_at(0, 55) == 200);  // 100 and 400 end together, at 50
}
