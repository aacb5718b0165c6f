#include "sched/check/packing.hpp"

#include <random>

#include "tests/catch.hpp"

using sched::check::Fit;
using sched::check::fits;
using sched::check::Rectangle;

namespace {

/// Tries every position and turn on the millimetre grid: the meaning of "fits", without any idea.
bool fits_by_grid(const std::vector<Rectangle>& rectangles, int width, int height, int gap) {
    struct Put {
        int x, y, w, h;
    };
    std::vector<Put> put;
    const auto go = [&](const auto& self, std::size_t k) -> bool {
        if (k == rectangles.size()) return true;
        for (int turn = 0; turn < 2; ++turn) {
            const int w = turn ? rectangles[k].height_mm : rectangles[k].width_mm;
            const int h = turn ? rectangles[k].width_mm : rectangles[k].height_mm;
            for (int x = 0; x + w <= width; ++x) {
                for (int y = 0; y + h <= height; ++y) {
                    bool free = true;
                    for (const auto& o : put) {
                        free = free && (x >= o.x + o.w + gap || o.x >= x + w + gap ||
                                        y >= o.y + o.h + gap || o.y >= y + h + gap);
                    }
                    if (!free) continue;
                    put.push_back({x, y, w, h});
                    if (self(self, k + 1)) return true;
                    put.pop_back();
                }
            }
        }
        return false;
    };
    return go(go, 0);
}

}  // namespace

TEST_CASE("a pinwheel of four around a hole fits, which no straight cut could make",
          "[check][packing]") {
    // 3 x 2 four times around a hole of 1 x 1 in 5 x 5; the hole takes one more, not two.
    std::vector<Rectangle> r(4, Rectangle{3, 2});
    CHECK(fits(r, 5, 5, 0) == Fit::Yes);
    r.push_back({1, 1});
    CHECK(fits(r, 5, 5, 0) == Fit::Yes);
    r.back() = {2, 1};
    CHECK(fits(r, 5, 5, 0) == Fit::No);
}

TEST_CASE("packing agrees with trying every position", "[check][packing]") {
    std::mt19937 random(7);
    const auto draw = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
    int yes = 0;
    int no = 0;
    for (int round = 0; round < 400; ++round) {
        const int width = 5 + draw(4);
        const int height = 4 + draw(4);
        const int gap = draw(2);
        std::vector<Rectangle> r(static_cast<std::size_t>(2 + draw(4)));
        for (auto& x : r)
            x = {1 + draw(5), 1 + draw(4)};
        const bool expected = fits_by_grid(r, width, height, gap);
        CAPTURE(round, width, height, gap, r.size());
        CHECK(fits(r, width, height, gap) == (expected ? Fit::Yes : Fit::No));
        (expected ? yes : no)++;
    }
    CHECK(yes > 50);
    CHECK(no > 50);
}

TEST_CASE("who has not looked at all has no answer", "[check][packing]") {
    CHECK(fits({{10, 10}}, 100, 100, 0, 0) == Fit::Unknown);
    CHECK(fits({{10, 10}}, 100, 100, 0, 1) != Fit::No);
}
