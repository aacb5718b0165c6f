#include "sched/check/packing.hpp"

#include <algorithm>
#include <cstdint>
#include <utility>

namespace sched::check {

namespace {

/// A gap between neighbours is the same as rectangles and area that are larger by the gap.
class CornerPacker {
public:
    CornerPacker(std::vector<Rectangle> rectangles, std::int64_t width, std::int64_t height,
                 long long max_nodes)
        : todo_(std::move(rectangles)),
          used_(todo_.size(), false),
          width_(width),
          height_(height),
          nodes_left_(max_nodes) {
        for (const auto& r : todo_)
            area_left_ += area(r.width_mm, r.height_mm);
    }

    Fit run() {
        if (place(0)) return Fit::Yes;
        return nodes_left_ < 0 ? Fit::Unknown : Fit::No;
    }

private:
    struct Corner {
        std::int64_t x;
        std::int64_t y;
    };
    /// Upper right corners of what is placed and not covered by another: x rises, y falls.
    using Stairs = std::vector<Corner>;

    static std::int64_t area(std::int64_t w, std::int64_t h) { return w * h; }

    /// Area that the staircase still leaves free to the right and above.
    std::int64_t free_area() const {
        std::int64_t covered = 0;
        std::int64_t x = 0;
        for (const auto& c : stairs_) {
            covered += (c.x - x) * c.y;
            x = c.x;
        }
        return width_ * height_ - covered;
    }

    bool place(std::size_t done) {
        if (done == todo_.size()) return true;
        if (--nodes_left_ < 0) return false;
        if (free_area() < area_left_) return false;
        for (std::size_t i = 0; i < todo_.size(); ++i) {
            if (used_[i] || twin_before(i)) continue;
            const std::int64_t w = todo_[i].width_mm;
            const std::int64_t h = todo_[i].height_mm;
            used_[i] = true;
            area_left_ -= area(w, h);
            if (place_turned(done, w, h) || (w != h && place_turned(done, h, w))) return true;
            area_left_ += area(w, h);
            used_[i] = false;
        }
        return false;
    }

    /// An equal rectangle that is still free comes first; trying both would be the same.
    bool twin_before(std::size_t i) const {
        for (std::size_t j = 0; j < i; ++j) {
            if (!used_[j] && todo_[j].width_mm == todo_[i].width_mm &&
                todo_[j].height_mm == todo_[i].height_mm) {
                return true;
            }
        }
        return false;
    }

    bool place_turned(std::size_t done, std::int64_t w, std::int64_t h) {
        const Stairs before = stairs_;
        for (std::size_t k = 0; k <= before.size(); ++k) {
            const Corner corner{k == 0 ? 0 : before[k - 1].x, k == before.size() ? 0 : before[k].y};
            if (corner.x + w > width_ || corner.y + h > height_) continue;
            add(before, Corner{corner.x + w, corner.y + h});
            if (place(done + 1)) return true;
        }
        stairs_ = before;
        return false;
    }

    void add(const Stairs& before, Corner placed) {
        stairs_.clear();
        for (const auto& c : before) {
            if (c.x > placed.x || c.y > placed.y) stairs_.push_back(c);
        }
        const auto at = std::find_if(stairs_.begin(), stairs_.end(), [&](const Corner& c) {
            return c.x > placed.x || (c.x == placed.x && c.y < placed.y);
        });
        stairs_.insert(at, placed);
    }

    std::vector<Rectangle> todo_;
    std::vector<bool> used_;
    std::int64_t width_;
    std::int64_t height_;
    long long nodes_left_;
    std::int64_t area_left_ = 0;
    Stairs stairs_;
};

}  // namespace

Fit fits(const std::vector<Rectangle>& rectangles, int width_mm, int height_mm, int gap_mm,
         long long max_nodes) {
    std::vector<Rectangle> grown = rectangles;
    for (auto& r : grown) {
        r.width_mm += gap_mm;
        r.height_mm += gap_mm;
    }
    // Large ones first: a misfit shows early.
    std::stable_sort(grown.begin(), grown.end(), [](const Rectangle& a, const Rectangle& b) {
        return std::int64_t{a.width_mm} * a.height_mm > std::int64_t{b.width_mm} * b.height_mm;
    });
    return CornerPacker(std::move(grown), std::int64_t{width_mm} + gap_mm,
                        std::int64_t{height_mm} + gap_mm, max_nodes)
        .run();
}

}  // namespace sched::check
