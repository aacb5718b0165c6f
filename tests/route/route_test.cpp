#include "model/route/operation_graph.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace model::route;

namespace {

const RouteLag* lag_between(const Route& route, Step from, Step to, From edge) {
    for (const auto& lag : route.lags) {
        if (route.operations[static_cast<std::size_t>(lag.from)].step == from &&
            route.operations[static_cast<std::size_t>(lag.to)].step == to && lag.edge == edge) {
            return &lag;
        }
    }
    return nullptr;
}

}  // namespace

TEST_CASE("an inky frame is reclaimed before it is coated", "[route]") {
    const Route route =
        build_route(Room{}, {.frame = FrameState::Inky, .haze = true, .face_coats = 1});
    std::vector<Step> steps;
    for (const auto& o : route.operations) {
        if (o.part == Part::Whole || o.part == Part::Load) steps.push_back(o.step);
    }
    // The order of the trade (common practice, no source).
    CHECK(steps == std::vector<Step>{Step::InkOff, Step::InkDegrease, Step::Strip, Step::Rinse,
                                     Step::Haze, Step::Degrease, Step::DryMesh, Step::Coat,
                                     Step::DryCoat, Step::FaceCoat, Step::DryFace, Step::Expose,
                                     Step::WashOut, Step::DryStencil, Step::Inspect,
                                     Step::DryTouchUp});
}

TEST_CASE("remover is rinsed at most five minutes after it was put on", "[route][max-lag]") {
    const Route route = build_route(Room{}, {.frame = FrameState::OldStencil});
    const RouteLag* lag = lag_between(route, Step::Strip, Step::Rinse, From::Start);
    REQUIRE(lag != nullptr);
    CHECK(lag->max == minutes(5));  // common practice, no source
    CHECK(lag->min == minutes(2));
}

TEST_CASE("a screen with face coats comes back to stand and cabinet", "[route]") {
    const Route route = build_route(Room{}, {.face_coats = 2, .rack = true});
    int dried = 0;
    int carried = 0;
    for (const auto& o : route.operations) {
        if (row_of(o.step).dries) ++dried;
        if (o.step == Step::TakeOut) ++carried;
    }
    CHECK(dried == 5);  // mesh, coat group, two face coats, stencil
    CHECK(carried == 5);
    CHECK(lag_between(route, Step::DryFace, Step::Expose, From::WorkEnd) != nullptr);
}

TEST_CASE("a kept stencil goes to inspection", "[route]") {
    const Route route = build_route(Room{}, {.frame = FrameState::KeptStencil});
    REQUIRE(route.operations.size() == 2);
    CHECK(route.operations[0].step == Step::Inspect);
}

TEST_CASE("mixing stands 15 minutes, then an hour", "[route]") {
    const Room room;
    const Route route = build_mixing(room);
    REQUIRE(route.operations.size() == 3);
    // Both figures: common practice, no source.
    CHECK(lag_between(route, Step::MixDissolve, Step::MixStir, From::WorkEnd)->min == minutes(15));
    CHECK(time_of(room, Step::MixStir).stand == minutes(60));
}
