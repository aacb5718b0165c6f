#include "sched/statistics/late_marks.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace sched::study {

std::vector<char> in_bunches(std::span<const NotedEnd> pieces, const BunchOptions& options) {
    std::vector<char> out(pieces.size(), 0);
    std::vector<std::size_t> by(pieces.size());
    std::iota(by.begin(), by.end(), std::size_t{0});
    std::stable_sort(by.begin(), by.end(), [&](std::size_t a, std::size_t b) {
        return pieces[a].device != pieces[b].device ? pieces[a].device < pieces[b].device
                                                    : pieces[a].noted < pieces[b].noted;
    });
    for (std::size_t i = 0; i < by.size(); ++i) {
        const NotedEnd& first = pieces[by[i]];
        if (first.device < 0) continue;
        std::size_t to = i;
        double low = first.start, high = first.start;
        while (to < by.size() && pieces[by[to]].device == first.device &&
               pieces[by[to]].noted - first.noted <= options.within) {
            low = std::min(low, pieces[by[to]].start);
            high = std::max(high, pieces[by[to]].start);
            ++to;
        }
        const double touches = pieces[by[to - 1]].noted - first.noted;
        if (to - i < options.least ||
            high - low < std::max(options.spread, options.apart * touches))
            continue;
        for (std::size_t k = i; k < to; ++k)
            out[by[k]] = 1;
    }
    return out;
}

}  // namespace sched::study
