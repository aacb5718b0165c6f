#include "sched/engine/decode/batches.hpp"

#include <algorithm>
#include <array>

#include "sched/core/index.hpp"

namespace sched::engine {

namespace {

constexpr std::size_t most_rectangles = 64;
struct Rectangle {
    std::int32_t width, height;
};

// Shelves, first fit by falling height (Coffman, Garey, Johnson and Tarjan 1980). Never says yes
// wrongly; may say no to a packing that only an exact search finds.
bool shelves_fit(std::array<Rectangle, most_rectangles>& all, std::size_t n,
                 const core::BatchArea& area, bool flat) {
    for (std::size_t i = 0; i < n; ++i) {
        Rectangle& r = all[i];
        if ((r.width < r.height) == flat) std::swap(r.width, r.height);
        if (r.width > area.width_mm || r.height > area.height_mm) std::swap(r.width, r.height);
        if (r.width > area.width_mm || r.height > area.height_mm) return false;
    }
    // Insertion keeps equals in their order and asks for no memory.
    for (std::size_t i = 1; i < n; ++i) {
        const Rectangle r = all[i];
        std::size_t k = i;
        for (; k > 0 && all[k - 1].height < r.height; --k)
            all[k] = all[k - 1];
        all[k] = r;
    }
    std::array<std::int32_t, most_rectangles> used{};
    std::size_t shelves = 0;
    std::int32_t top = 0;
    for (std::size_t i = 0; i < n; ++i) {
        bool in = false;
        for (std::size_t s = 0; s < shelves && !in; ++s) {
            if (used[s] + area.gap_mm + all[i].width > area.width_mm) continue;
            used[s] += area.gap_mm + all[i].width;
            in = true;
        }
        if (in) continue;
        const std::int32_t base = shelves == 0 ? 0 : top + area.gap_mm;
        if (base + all[i].height > area.height_mm) return false;
        top = base + all[i].height;
        used[shelves++] = all[i].width;
    }
    return true;
}

}  // namespace

bool packs(const CompiledProblem& problem, const Timelines& state, std::int32_t batch,
           std::int32_t op) {
    const OpenBatch& b = state.batches[ix(batch)];
    const core::BatchArea& area = problem.resources[ix(b.resource)].batch;
    if (b.members >= area.max_members || b.members + 1 > static_cast<std::int32_t>(most_rectangles))
        return false;
    for (const bool flat : {true, false}) {
        std::array<Rectangle, most_rectangles> all{};
        std::size_t n = 0;
        const auto add = [&](std::int32_t i) {
            const CompiledOperation& o = problem.operations[ix(i)];
            all[n++] = {o.batch_width, o.batch_height};
        };
        add(op);
        for (std::int32_t i = b.last_member; i >= 0; i = state.batch_next[ix(i)])
            add(i);
        if (shelves_fit(all, n, area, flat)) return true;
    }
    return false;
}

bool minds(const CompiledProblem& problem, const Timelines& state, std::int32_t batch,
           std::int32_t r, std::int32_t besides) {
    if (problem.resources[ix(r)].capacity != 1) return false;
    const OpenBatch& b = state.batches[ix(batch)];
    for (std::int32_t i = b.last_member; i >= 0; i = state.batch_next[ix(i)]) {
        if (i == besides) continue;
        const CompiledOperation& o = problem.operations[ix(i)];
        const auto mode = static_cast<std::size_t>(o.modes.begin + state.placed.mode[ix(i)]);
        for (std::int32_t n = 0; n < problem.modes[mode].needs.size(); ++n) {
            if (state.placed.chosen[ix(o.chosen + n)] == r) return true;
        }
    }
    return false;
}

std::int32_t joinable(const CompiledProblem& problem, const Timelines& state, std::int32_t op,
                      const CompiledMode& m, std::int32_t r, Tick from, Tick& start) {
    const std::int32_t family = problem.operations[ix(op)].batch_family;
    std::int32_t best = -1;
    for (std::size_t i = state.batches.size(); i-- > state.batches_over;) {
        const OpenBatch& b = state.batches[i];
        if (b.resource != r || b.members == 0 || b.family != family ||
            b.start + m.work > b.work_end) {
            continue;
        }
        // Shorter work waits for the longer by its stretch.
        if (b.end - b.start - m.work > problem.operations[ix(op)].stretch) continue;
        if (b.start < std::max(from, state.now) || b.start > start ||
            (best >= 0 && b.start == start))
            continue;
        if (!packs(problem, state, static_cast<std::int32_t>(i), op)) continue;
        best = static_cast<std::int32_t>(i);
        start = b.start;
    }
    return best;
}

}  // namespace sched::engine
