#include <algorithm>

#include "model/room/steps.hpp"
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
    const CoatPlan plan{.name = "face", .face = 1};
    const Route route =
        build_route(Room{}, {.frame = FrameState::Inky, .haze = true, .plan = &plan});
    std::vector<Step> steps;
    for (const auto& o : route.operations) {
        const bool whole = o.part == Part::Whole || o.part == Part::Run;
        if (whole) steps.push_back(o.step);
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
    const CoatPlan plan{.name = "faces", .face = 2};
    const Route route = build_route(Room{}, {.plan = &plan, .rack = true});
    int dried = 0;
    int carried = 0;
    for (const auto& o : route.operations) {
        if (row_of(o.step).dries == Dries::ByAir && o.part == Part::Whole) ++dried;
        if (o.step == Step::TakeOut) ++carried;
    }
    CHECK(dried == 5);  // mesh, coat group, two face coats, stencil
    CHECK(carried == 5);
    CHECK(lag_between(route, Step::DryFace, Step::Expose, From::WorkEnd) != nullptr);
}

TEST_CASE("a kept stencil goes to inspection", "[route]") {
    const Route route = build_route(Room{}, {.frame = FrameState::KeptStencil});
    REQUIRE(route.operations.size() == 3);  // and somebody puts it where the block-out dries
    CHECK(route.operations[0].step == Step::Inspect);
    CHECK(route.operations[1] == RouteOperation{Step::DryTouchUp, Part::Load, 0});
}

TEST_CASE("the limit to washing out runs from the moment the lamp is off", "[route][max-lag]") {
    const Route route = build_route(Room{}, {});
    int found = 0;
    for (const RouteLag& lag : route.lags) {
        const auto& from = route.operations[static_cast<std::size_t>(lag.from)];
        const auto& to = route.operations[static_cast<std::size_t>(lag.to)];
        if (!lag.max || *lag.max != minutes(30)) continue;
        CHECK(from == RouteOperation{Step::Expose, Part::Run, 0});
        CHECK(lag.edge == From::WorkEnd);
        CHECK(to.step == Step::WashOut);
        ++found;
    }
    CHECK(found == 1);
}

// Common practice, no source: a coated screen dries at once, lying flat; wet it sags and takes
// dust. A machine that lets it stand takes its time first.
TEST_CASE("a wet coat is hung up to dry within minutes", "[route][max-lag]") {
    Room room;
    room.steps[Step::Coat] = {.attended = minutes(4), .stand = minutes(6), .stand_said = true};
    room.steps[Step::FaceCoat] = {.attended = minutes(2), .stand = Seconds{0}, .stand_said = true};
    const CoatPlan plan{.name = "face", .face = 1};
    const Route route = build_route(room, {.plan = &plan});
    const auto limit = [&](Step from, Step to) {
        for (const RouteLag& lag : route.lags) {
            if (route.operations[static_cast<std::size_t>(lag.from)].step == from &&
                route.operations[static_cast<std::size_t>(lag.to)] ==
                    RouteOperation{to, Part::Whole, 0} &&
                lag.edge == From::WorkEnd)
                return lag.max;
        }
        return std::optional<Seconds>{};
    };
    CHECK(limit(Step::Coat, Step::DryCoat) == minutes(20 + 6));
    CHECK(limit(Step::FaceCoat, Step::DryFace) == minutes(20));
}

TEST_CASE("what stands keeps its place: till it is handed on, or in a part of its own", "[route]") {
    Room room;
    room.steps[Step::Degrease] = {.attended = minutes(3), .stand = minutes(2)};
    room.steps[Step::Haze] = {.attended = minutes(4), .stand = minutes(5)};
    const Route route = build_route(room, {.frame = FrameState::OldStencil, .haze = true});
    // Handed into the cabinet: no part more, it is hung up two minutes later at the soonest.
    bool later = false;
    for (const RouteLag& lag : route.lags) {
        const auto& from = route.operations[static_cast<std::size_t>(lag.from)];
        const auto& to = route.operations[static_cast<std::size_t>(lag.to)];
        later |= from.step == Step::Degrease &&
                 to == RouteOperation{Step::DryMesh, Part::Load, 0} && lag.edge == From::WorkEnd &&
                 lag.min == minutes(2);
        // The paste works in the sink.
        if (to == RouteOperation{Step::Haze, Part::Stand, 0}) {
            CHECK(from == RouteOperation{Step::Haze, Part::Whole, 0});
            CHECK(lag.same_place);
            CHECK(lag.max == Seconds{0});
        }
    }
    CHECK(later);
    CHECK(std::count_if(route.operations.begin(), route.operations.end(),
                        [](const auto& o) { return o.part == Part::Stand; }) == 1);
}

TEST_CASE("mixing stands 15 minutes, then an hour", "[route]") {
    const Room room;
    const Route route = build_mixing(room);
    REQUIRE(route.operations.size() == 3);
    // Both figures: common practice, no source.
    CHECK(lag_between(route, Step::MixDissolve, Step::MixStir, From::WorkEnd)->min == minutes(15));
    CHECK(time_of(room, Step::MixStir).stand == minutes(60));
}
