#include "sched/search/bounds/bounds_assign.hpp"

#include <algorithm>
#include <limits>
#include <map>

namespace sched::search {

CapacityClock::CapacityClock(const core::Problem& p,
                             const std::vector<core::ResourceId>& resources) {
    std::map<std::int64_t, std::int64_t> steps;
    std::int64_t always = 0;
    for (const auto id : resources) {
        const auto& r = p.resources[id.index()];
        if (!r.calendar) {
            always += r.capacity;
            continue;
        }
        for (const auto& w : *r.calendar) {
            steps[(w.from - p.horizon_start).count()] += r.capacity;
            steps[(w.to - p.horizon_start).count()] -= r.capacity;
        }
    }
    changes_.push_back({std::numeric_limits<std::int64_t>::min(), always});
    for (const auto& [at, by] : steps)
        changes_.push_back({at, changes_.back().capacity + by});
}

std::int64_t CapacityClock::after(std::int64_t from, std::int64_t work) const {
    std::int64_t now = from;
    if (work <= 0) return now;
    for (std::size_t k = 0; k < changes_.size(); ++k) {
        const bool last = k + 1 == changes_.size();
        if (!last && changes_[k + 1].at <= now) continue;
        const std::int64_t c = changes_[k].capacity;
        if (last && c == 0) return now;
        if (c > 0) {
            const std::int64_t need = (work + c - 1) / c;
            if (last || need <= changes_[k + 1].at - now) return now + need;
            work -= c * (changes_[k + 1].at - now);
        }
        now = changes_[k + 1].at;
    }
    return now;
}

std::int64_t least_assignment(const std::vector<std::vector<std::int64_t>>& costs) {
    const std::size_t n = costs.size();
    const std::int64_t inf = std::numeric_limits<std::int64_t>::max() / 4;
    std::vector<std::int64_t> u(n + 1, 0), v(n + 1, 0);
    std::vector<std::size_t> match(n + 1, 0), way(n + 1, 0);  // column -> row; 0: free
    for (std::size_t row = 1; row <= n; ++row) {
        match[0] = row;
        std::size_t column = 0;
        std::vector<std::int64_t> least(n + 1, inf);
        std::vector<char> used(n + 1, 0);
        do {
            used[column] = 1;
            const std::size_t i = match[column];
            std::int64_t delta = inf;
            std::size_t next = 0;
            for (std::size_t j = 1; j <= n; ++j) {
                if (used[j]) continue;
                const std::int64_t reduced = costs[i - 1][j - 1] - u[i] - v[j];
                if (reduced < least[j]) {
                    least[j] = reduced;
                    way[j] = column;
                }
                if (least[j] < delta) {
                    delta = least[j];
                    next = j;
                }
            }
            for (std::size_t j = 0; j <= n; ++j) {
                if (used[j]) {
                    u[match[j]] += delta;
                    v[j] -= delta;
                } else {
                    least[j] -= delta;
                }
            }
            column = next;
        } while (match[column] != 0);
        for (; column != 0; column = way[column])
            match[column] = match[way[column]];
    }
    std::int64_t sum = 0;
    for (std::size_t j = 1; j <= n; ++j)
        sum += costs[match[j] - 1][j - 1];
    return sum;
}

}  // namespace sched::search
