#include "sched/search/bounds/bounds_batches.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "sched/core/index.hpp"

namespace sched::search {

namespace {

constexpr int kFunctions = 4;  // the share itself, and u(1) to u(3)

/// Part of `whole` that a member of this length is counted with: its share, or u(k), which rounds
/// (k + 1) shares down to whole ones and counts each 1 / k.
double counted(std::int64_t length, std::int64_t whole, int k) {
    const double share = static_cast<double>(length) / static_cast<double>(whole);
    if (k == 0 || (k + 1) * length % whole == 0) return share;
    return static_cast<double>((k + 1) * length / whole) / k;
}

std::int64_t most_members(const core::BatchArea& area,
                          const std::vector<const core::BatchShape*>& family) {
    // Two that keep their distance do not meet if each is larger by the gap, and the area too.
    const std::int64_t width = area.width_mm + area.gap_mm;
    const std::int64_t height = area.height_mm + area.gap_mm;
    std::int64_t most = area.max_members;
    for (int across = 0; across < kFunctions; ++across) {
        for (int along = 0; along < kFunctions; ++along) {
            double least = 1.0;
            for (const core::BatchShape* shape : family) {
                const std::int64_t w = shape->width_mm + area.gap_mm;
                const std::int64_t h = shape->height_mm + area.gap_mm;
                for (const auto& [x, y] : {std::pair{w, h}, std::pair{h, w}}) {
                    if (x > width || y > height) continue;
                    least = std::min(least, counted(x, width, across) * counted(y, height, along));
                }
            }
            if (least * static_cast<double>(most) > 1.0)
                most = static_cast<std::int64_t>(1.0 / least + 1e-9);
        }
    }
    return std::max<std::int64_t>(1, most);
}

}  // namespace

std::vector<std::int64_t> most_sharers(const core::Problem& problem) {
    std::map<std::pair<std::int32_t, int>, std::vector<std::size_t>> families;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const auto& o = problem.operations[i];
        if (!o.batch) continue;
        for (const auto& mode : o.modes) {
            for (const auto& need : mode.needs) {
                for (const auto r : need.any_of) {
                    if (!problem.resources[r.index()].batch) continue;
                    auto& members = families[{r.value, o.batch->family}];
                    if (members.empty() || members.back() != i) members.push_back(i);
                }
            }
        }
    }
    std::vector<std::int64_t> most(problem.operations.size(), 1);
    for (const auto& [key, members] : families) {
        std::vector<const core::BatchShape*> shapes;
        for (const std::size_t i : members)
            shapes.push_back(&*problem.operations[i].batch);
        const std::int64_t here = most_members(*problem.resources[ix(key.first)].batch, shapes);
        for (const std::size_t i : members)
            most[i] = std::max(most[i], here);
    }
    return most;
}

}  // namespace sched::search
