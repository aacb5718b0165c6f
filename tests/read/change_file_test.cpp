// Change files laid over a room.

#include <unistd.h>
#include <filesystem>
#include <fstream>
#include <string>

#include "model/read/change_file.hpp"
#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

namespace fs = std::filesystem;

namespace {

const std::string tomorrow_room = std::string(COATROOM_SOURCE) + "/scenarios/tomorrow";

// A change file that is gone when the test ends.
struct ChangeFile {
    fs::path path =
        fs::temp_directory_path() / ("coatroom-change-" + std::to_string(getpid()) + ".yaml");
    explicit ChangeFile(const std::string& room) {
        std::ofstream(path) << "change: test\nwords: a test\ninvented: yes\nroom:\n" << room;
    }
    ~ChangeFile() { fs::remove(path); }
};

}  // namespace

TEST_CASE("every ready change lies over the demo room", "[read][change]") {
    int seen = 0;
    for (const auto& entry :
         fs::directory_iterator(std::string(COATROOM_SOURCE) + "/scenarios/changes")) {
        if (entry.path().extension() != ".yaml") continue;
        ++seen;
        model::Diagnostics d;
        const auto change = model::read_change(entry.path().string(), d);
        const auto room = model::read_changed_scenario(tomorrow_room, {entry.path().string()}, d);
        for (const auto& x : d.all())
            UNSCOPED_INFO(model::to_text(x));
        INFO(entry.path().string());
        REQUIRE(change);
        CHECK(change->invented);
        CHECK(room);
    }
    CHECK(seen >= 10);
}

TEST_CASE("a change file of comments alone is said to be empty", "[read][change]") {
    const ChangeFile file("");
    std::ofstream(file.path) << "# change: test\n";
    model::Diagnostics d;
    CHECK_FALSE(model::read_change(file.path.string(), d));
    REQUIRE(d.all().size() == 1);
    CHECK(d.all()[0].code == "file-empty");
}

TEST_CASE("a copy of a station stands beside it", "[read][change]") {
    const ChangeFile file("  stations:\n    - {like: cabinet, name: cabinet 2}\n");
    model::Diagnostics d;
    const auto before = model::read_scenario(tomorrow_room, d);
    const auto after = model::read_changed_scenario(tomorrow_room, {file.path.string()}, d);
    REQUIRE(before);
    REQUIRE(after);
    REQUIRE(after->room.stations.size() == before->room.stations.size() + 1);
    CHECK(after->room.stations.back().name == "cabinet 2");
    CHECK(after->room.stations.back().places == 12);
}

TEST_CASE("a copy of a person has that one's overtime", "[read][change]") {
    const ChangeFile file("  people:\n    - {like: Ada, name: Dora}\n");
    model::Diagnostics d;
    const auto before = model::read_scenario(tomorrow_room, d);
    const auto after = model::read_changed_scenario(tomorrow_room, {file.path.string()}, d);
    REQUIRE(before);
    REQUIRE(after);
    const auto& ada = before->room.people.front();
    const auto& dora = after->room.people.back();
    REQUIRE(ada.name == "Ada");
    REQUIRE(dora.name == "Dora");
    CHECK(ada.overtime == model::hours(1));
    CHECK(dora.overtime == ada.overtime);
    CHECK(dora.shifts == ada.shifts);
}

TEST_CASE("a copy of nothing and the removal of nothing are placed errors", "[read][change]") {
    {
        const ChangeFile file("  stations:\n    - {like: cabinett, name: cabinet 2}\n");
        model::Diagnostics d;
        CHECK_FALSE(model::read_changed_scenario(tomorrow_room, {file.path.string()}, d));
        REQUIRE_FALSE(d.all().empty());
        CHECK(d.all().front().code == "like-nothing");
        CHECK(d.all().front().place.line == 6);
    }
    {
        const ChangeFile file("  stations:\n    - {name: attic, remove: yes}\n");
        model::Diagnostics d;
        CHECK_FALSE(model::read_changed_scenario(tomorrow_room, {file.path.string()}, d));
        REQUIRE_FALSE(d.all().empty());
        CHECK(d.all().front().code == "remove-nothing");
        CHECK(d.all().front().place.line == 6);
    }
}

// Before, orders went on with a plan that no longer was there, and the change was judged.
TEST_CASE("what a change takes away and an order wants is an error", "[read][change]") {
    for (const auto& [room, lacks] :
         {std::pair{"  coat plans:\n    - {name: 2+2 face, remove: yes}\n", "2+2 face"},
          std::pair{"  meshes:\n    - {name: 120-34, remove: yes}\n", "120-34"}}) {
        const ChangeFile file(room);
        model::Diagnostics d;
        CHECK_FALSE(model::read_changed_scenario(tomorrow_room, {file.path.string()}, d));
        REQUIRE_FALSE(d.all().empty());
        INFO(model::to_text(d.all().front()));
        CHECK(d.all().front().place.file == tomorrow_room + "/orders.csv");
        CHECK(d.all().front().message.rfind("with the change \"test\": ", 0) == 0);
        CHECK(d.all().front().message.find(lacks) != std::string::npos);
    }
    // What nobody wants may go.
    const ChangeFile pot("  pots:\n    - {name: blue 2, remove: yes}\n");
    model::Diagnostics d;
    CHECK(model::read_changed_scenario(tomorrow_room, {pot.path.string()}, d));
}
