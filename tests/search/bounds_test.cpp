// Lower bounds against what they must stay below: plans of random rooms, and batches that an exact
// packing finds.

#include <algorithm>
#include <vector>

#include "sched/check/checker.hpp"
#include "sched/check/packing.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/bounds/bounds_batches.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched;
using namespace sched::core;

namespace {

Problem exposures(const BatchArea& area, const std::vector<BatchShape>& shapes) {
    Problem p;
    p.resources = {{.name = "unit", .batch = area}};
    for (const auto& shape : shapes) {
        p.operations.push_back(
            {.name = "expose",
             .modes = {{.work = Seconds{100}, .needs = {{.any_of = {ResourceId{0}}}}}},
             .batch = shape});
    }
    return p;
}

}  // namespace

TEST_CASE("two frames of 58 x 84 cm share a blanket of 110 x 140 cm, never three",
          "[bound][batch]") {
    // Side by side 116 <= 140 and 84 <= 110. A third: each takes more than half of the 110 cm
    // whichever way it lies, so they stand in a row along the 140 cm, and 3 * 58 > 140.
    const BatchShape frame{1, 580, 840};
    const auto p = exposures({1100, 1400, 0, 8}, {frame, frame, frame});
    CHECK(search::most_sharers(p) == std::vector<std::int64_t>{2, 2, 2});
    CHECK(check::fits({{580, 840}, {580, 840}}, 1100, 1400, 0) == check::Fit::Yes);
    CHECK(check::fits({{580, 840}, {580, 840}, {580, 840}}, 1100, 1400, 0) == check::Fit::No);
}

TEST_CASE("no batch that an exact packing finds is larger than the bound on its sharers",
          "[bound][batch]") {
    random_room::Draw d(11);
    int packed = 0, tight = 0;
    for (int trial = 0; trial < 600; ++trial) {
        const BatchArea area{800 + 10 * d.below(60), 800 + 10 * d.below(60), 10 * d.below(4),
                             2 + d.below(6)};
        std::vector<BatchShape> shapes;
        std::vector<check::Rectangle> rectangles;
        const int n = 2 + d.below(5);
        const int w = 200 + 10 * d.below(50), h = 200 + 10 * d.below(50);
        for (int k = 0; k < n; ++k) {
            const bool other = d.below(4) == 0;
            shapes.push_back({1, other ? w + 10 * d.below(10) : w, h});
            rectangles.push_back({shapes.back().width_mm, h});
        }
        if (n > area.max_members) continue;
        const auto most = search::most_sharers(exposures(area, shapes));
        if (check::fits(rectangles, area.width_mm, area.height_mm, area.gap_mm) != check::Fit::Yes)
            continue;
        ++packed;
        INFO("trial " << trial);
        for (const auto m : most)
            REQUIRE(m >= n);
        tight += most.front() == n;
    }
    CHECK(packed > 150);
    CHECK(tight > 50);
}

TEST_CASE("no plan of a random room is better than its bounds", "[bound][property]") {
    int plans = 0, above_zero = 0;
    for (std::uint64_t seed = 1; seed <= 300; ++seed) {
        auto p = random_room::make(seed);
        // Half of the rooms late whatever is done, so that the bound on tardiness says something.
        if (seed % 2 == 0) {
            for (auto& order : p.orders)
                order.due = p.horizon_start + Seconds{3600};
        }
        const auto bound = search::lower_bounds(p);
        above_zero += bound.parts[0] > 0;
        const engine::CompiledProblem compiled(p);
        const auto views = engine::rule_views(compiled);
        engine::Decoder decoder(compiled);
        for (const auto& rule : engine::rules()) {
            if (!decoder.decode(engine::rule_sequence(compiled, views, rule))) continue;
            ++plans;
            INFO("room " << seed << ", rule " << rule.name);
            for (std::size_t k = 0; k < bound.parts.size(); ++k)
                REQUIRE(bound.parts[k] <= decoder.value()[k]);
        }
    }
    CHECK(plans > 1000);
    CHECK(above_zero > 100);
}
