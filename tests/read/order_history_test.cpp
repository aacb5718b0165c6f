// Files of past orders, held against a room.

#include <unistd.h>
#include <filesystem>
#include <fstream>
#include <string>

#include "model/read/order_history.hpp"
#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

namespace fs = std::filesystem;

namespace {

struct HistoryFile {
    fs::path path =
        fs::temp_directory_path() / ("coatroom-history-" + std::to_string(getpid()) + ".csv");
    explicit HistoryFile(const std::string& rows) {
        std::ofstream(path) << "order,due,count,mesh,frame,emulsion,coat plan,kept stencil\n"
                            << rows;
    }
    ~HistoryFile() { fs::remove(path); }
};

model::Scenario demo_room() {
    model::Diagnostics d;
    auto scenario = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", d);
    REQUIRE(scenario);
    return *std::move(scenario);
}

}  // namespace

TEST_CASE("past orders are gathered by the day on which they were due", "[read][history]") {
    const HistoryFile file(
        "P2,2026-11-03 10:00,2,120-34,58 x 84 cm,dual-cure A,2+2,yes\n"
        "P1,2026-11-02 16:00,2,120-34,58 x 84 cm,dual-cure A,2+2,\n"
        "P3,2026-11-03 08:00,1,77-55,58 x 84 cm,dual-cure A,2+2,\n"
        "P2,2026-11-03 10:00,3,77-55,58 x 84 cm,dual-cure A,2+2,\n");
    model::Diagnostics d;
    const auto days = model::read_order_history(file.path.string(), demo_room(), d);
    CHECK(d.all().empty());
    REQUIRE(days);
    REQUIRE(days->size() == 2);
    REQUIRE((*days)[0].size() == 1);
    CHECK((*days)[0][0].name == "P1");
    REQUIRE((*days)[1].size() == 2);
    CHECK((*days)[1][0].name == "P2");
    REQUIRE((*days)[1][0].lines.size() == 2);
    CHECK_FALSE((*days)[1][0].lines[0].kept_stencil);  // the store of today does not hold it
    CHECK((*days)[1][1].name == "P3");
}

TEST_CASE("what is wrong with past orders has its place", "[read][history]") {
    const HistoryFile file(
        "P1,2026-11-02 16:00,2,120-34,58 x 84 cm,dual-cure A,2+2,\n"
        "P2,someday,2,120-35,58 x 84 cm,dual-cure A,2+2,\n"
        "P3,2026-11-02 10:00,2,120-34,900 x 900 cm,dual-cure A,2+2,\n");
    model::Diagnostics d;
    CHECK_FALSE(model::read_order_history(file.path.string(), demo_room(), d));
    REQUIRE(d.all().size() >= 3);
    for (const auto& x : d.all()) {
        CHECK(x.place.file == file.path.string());
        CHECK(x.place.line >= 3);
        CHECK(x.place.column > 1);
    }
    model::Diagnostics none;
    CHECK_FALSE(model::read_order_history("nowhere.csv", demo_room(), none));
    CHECK(none.error_count() == 1);
    const HistoryFile empty("");
    model::Diagnostics nothing;
    CHECK_FALSE(model::read_order_history(empty.path.string(), demo_room(), nothing));
    REQUIRE(nothing.all().size() == 1);
    CHECK(nothing.all().front().code == "no-orders");
}
