// A state written as a file reads back as it was.

#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "model/read/state_file.hpp"
#include "tests/catch.hpp"

namespace {

using namespace model;

RoomState read_back(const std::string& text) {
    const auto path = std::filesystem::temp_directory_path() /
                      ("coatroom-state-" + std::to_string(getpid()) + ".yaml");
    std::ofstream(path) << text;
    Diagnostics diagnostics;
    auto state = read_state(path.string(), true, diagnostics);
    std::filesystem::remove(path);
    for (const auto& d : diagnostics.all())
        UNSCOPED_INFO(to_text(d));
    REQUIRE(state.has_value());
    state->place = {};
    for (auto& x : state->screens)
        x.place = {};
    for (auto* list : {&state->people, &state->stations}) {
        for (auto& x : *list)
            x.place = {};
    }
    for (auto& x : state->films)
        x.place = {};
    for (auto& x : state->pots)
        x.place = {};
    for (auto& x : state->returned)
        x.place = {};
    return *state;
}

}  // namespace

TEST_CASE("a state as text reads back", "[state]") {
    RoomState state;
    CHECK(read_back(state_text(state)) == state);
    state.screens = {{.screen = "A1-1",
                      .in = {Step::DryTouchUp},
                      .since = hours(9) + minutes(5) + Seconds{7},
                      .until = hours(10),
                      .at = "cabinet: \"2\" \\ # left",
                      .by = "Ada"},
                     {.screen = "#2-1", .done = {Step::FaceCoat}, .round = 2, .since = hours(8)},
                     {.screen = "no", .back_to = {Step::Degrease}, .failed = true}};
    state.people = {{.name = "Ben", .from = hours(10), .until = hours(12)}, {.name = "yes"}};
    state.stations = {{.name = "booth"}};
    state.films = {{.order = "A9"}, {.order = "010", .from = hours(12) + minutes(30)}};
    state.pots = {{.pot = "blue 1", .empty = hours(10)}, {.pot = "7", .opened = hours(9)}};
    state.returned = {{.frame = "R2"}, {.frame = "58 x 84 cm", .from = hours(12)}};
    CHECK(read_back(state_text(state)) == state);
    // What began before midnight is said from midnight on.
    state.screens.resize(1);
    state.screens[0].since = hours(-2);
    CHECK(read_back(state_text(state)).screens[0].since == Seconds{0});
}
