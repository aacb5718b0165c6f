#include "model/physics/placement.hpp"

#include <algorithm>
#include <cassert>
#include <cstdint>
#include <set>
#include <vector>

namespace model::physics {

namespace {

struct Placed {
    int x, y, w, h;
};

/// Rectangles grown by the gap in an area grown by the gap: neighbours may then touch.
class Packing {
public:
    Packing(std::vector<Rectangle> items, Rectangle area) : items_(std::move(items)), area_(area) {
        std::set<int> sums{0};
        for (const Rectangle& r : items_) {
            std::set<int> more = sums;
            for (int s : sums) {
                for (int side : {r.width, r.height}) {
                    if (s + side < area_.height) more.insert(s + side);
                }
            }
            sums = std::move(more);
        }
        heights_.assign(sums.begin(), sums.end());
        used_.assign(items_.size(), false);
    }

    bool search(int from_x) {
        if (placed_.size() == items_.size()) return true;
        // In a packing pushed left and down every left side is 0 or some right side, and taking the
        // rectangles by rising left side the neighbour to the left is placed already.
        std::set<int> columns;
        if (from_x == 0) columns.insert(0);
        for (const Placed& p : placed_) {
            if (p.x + p.w >= from_x) columns.insert(p.x + p.w);
        }
        for (std::size_t i = 0; i < items_.size(); ++i) {
            if (used_[i] || twin_before(i)) continue;
            const bool square = items_[i].width == items_[i].height;
            for (int turn = 0; turn < (square ? 1 : 2); ++turn) {
                const int w = turn ? items_[i].height : items_[i].width;
                const int h = turn ? items_[i].width : items_[i].height;
                for (int x : columns) {
                    if (x + w > area_.width) break;
                    for (int y : heights_) {
                        if (y + h > area_.height) break;
                        if (!free(x, y, w, h)) continue;
                        used_[i] = true;
                        placed_.push_back({x, y, w, h});
                        if (search(x)) return true;
                        placed_.pop_back();
                        used_[i] = false;
                    }
                }
            }
        }
        return false;
    }

private:
    bool free(int x, int y, int w, int h) const {
        return std::none_of(placed_.begin(), placed_.end(), [&](const Placed& p) {
            return x < p.x + p.w && p.x < x + w && y < p.y + p.h && p.y < y + h;
        });
    }
    /// An equal rectangle that is still unused comes first.
    bool twin_before(std::size_t i) const {
        for (std::size_t j = 0; j < i; ++j) {
            if (!used_[j] && items_[j].width == items_[i].width &&
                items_[j].height == items_[i].height)
                return true;
        }
        return false;
    }

    std::vector<Rectangle> items_;
    Rectangle area_;
    std::vector<int> heights_;
    std::vector<bool> used_;
    std::vector<Placed> placed_;
};

}  // namespace

bool fits(std::span<const Rectangle> rectangles, Rectangle area, int gap) {
    assert(rectangles.size() <= most_placed && gap >= 0);
    if (rectangles.empty()) return true;
    const Rectangle grown{area.width + gap, area.height + gap};
    std::vector<Rectangle> items;
    std::int64_t needed = 0;
    for (const Rectangle& r : rectangles) {
        const Rectangle g{std::max(r.width, r.height) + gap, std::min(r.width, r.height) + gap};
        if (g.width > std::max(grown.width, grown.height) ||
            g.height > std::min(grown.width, grown.height))
            return false;
        needed += std::int64_t{g.width} * g.height;
        items.push_back(g);
    }
    if (needed > std::int64_t{grown.width} * grown.height) return false;
    std::sort(items.begin(), items.end(), [](const Rectangle& a, const Rectangle& b) {
        return std::pair(std::int64_t{a.width} * a.height, a.width) >
               std::pair(std::int64_t{b.width} * b.height, b.width);
    });
    return Packing(std::move(items), grown).search(0);
}

}  // namespace model::physics
