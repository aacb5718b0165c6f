#include <filesystem>
#include <string>

#include "model/read/scenario.hpp"
#include "sched/compile/room_problem.hpp"
#include "tests/catch.hpp"

namespace fs = std::filesystem;

TEST_CASE("every scenario of the project compiles into a sound problem", "[compile][scenario]") {
    int seen = 0;
    for (const auto& entry : fs::directory_iterator(std::string(COATROOM_SOURCE) + "/scenarios")) {
        if (!fs::exists(entry.path() / "room.yaml")) continue;
        ++seen;
        INFO(entry.path().string());
        model::Diagnostics d;
        const auto scenario = model::read_scenario(entry.path().string(), d);
        for (const auto& x : d.all())
            UNSCOPED_INFO(model::to_text(x));
        REQUIRE(scenario);
        CHECK(scenario->room.invented);
        const auto start = model::midnight(model::date_of(scenario->orders.at(0).due));
        const auto room = sched::compile::compile_room(*scenario, {.start = start}, d);
        for (const auto& x : d.all())
            UNSCOPED_INFO(model::to_text(x));
        REQUIRE(room);
        for (const auto& fault : sched::core::validate(room->problem))
            UNSCOPED_INFO(fault);
        CHECK(sched::core::validate(room->problem).empty());
    }
    CHECK(seen > 0);
}
