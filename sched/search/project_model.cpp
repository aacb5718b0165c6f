#include "sched/search/project_model.hpp"

#include <algorithm>
#include <cstring>
#include <queue>
#include <utility>

namespace sched::search {

namespace {

constexpr std::int64_t kLargestProject = std::int64_t{1} << 30;

bool project_arcs(const core::Problem& p, ProjectModel& m) {
    const std::size_t n = p.operations.size();
    std::vector<std::pair<int, int>> arcs;
    for (const auto& c : p.constraints) {
        if (const auto* lag = std::get_if<core::TimeLag>(&c)) {
            if (lag->edge == core::Edge::Start || lag->min.count() != 0 || lag->max) return false;
            arcs.emplace_back(lag->from.value, lag->to.value);
        } else if (const auto* w = std::get_if<core::StartWindow>(&c)) {
            if (w->not_after) return false;
            if (!w->not_before) continue;
            const auto at = (*w->not_before - p.horizon_start).count();
            if (at >= kLargestProject) return false;
            int& base = m.base[w->operation.index()];
            base = std::max(base, static_cast<int>(std::max<std::int64_t>(0, at)));
        } else {
            return false;
        }
    }
    std::sort(arcs.begin(), arcs.end());
    arcs.erase(std::unique(arcs.begin(), arcs.end()), arcs.end());
    m.first_before.assign(n + 1, 0);
    m.first_after.assign(n + 1, 0);
    for (const auto& [from, to] : arcs) {
        ++m.first_after[static_cast<std::size_t>(from) + 1];
        ++m.first_before[static_cast<std::size_t>(to) + 1];
    }
    for (std::size_t k = 0; k < n; ++k) {
        m.first_after[k + 1] += m.first_after[k];
        m.first_before[k + 1] += m.first_before[k];
    }
    m.before.resize(arcs.size());
    auto at = m.first_before;
    for (const auto& [from, to] : arcs) {
        m.after.push_back(to);
        m.before[static_cast<std::size_t>(at[static_cast<std::size_t>(to)]++)] = from;
    }
    std::vector<int> waiting(n);
    for (std::size_t k = 0; k < n; ++k) {
        waiting[k] = m.first_before[k + 1] - m.first_before[k];
        if (waiting[k] == 0) m.topological.push_back(static_cast<int>(k));
    }
    for (std::size_t k = 0; k < m.topological.size(); ++k) {
        const auto o = static_cast<std::size_t>(m.topological[k]);
        for (int e = m.first_after[o]; e < m.first_after[o + 1]; ++e) {
            const int to = m.after[static_cast<std::size_t>(e)];
            if (--waiting[static_cast<std::size_t>(to)] == 0) m.topological.push_back(to);
        }
    }
    return m.topological.size() == n;
}

}  // namespace

std::optional<ProjectModel> project_of(const core::Problem& p) {
    if (p.objective.size() != 1 || p.objective[0] != core::Criterion::Makespan) return std::nullopt;
    if (!p.stores.empty() || p.operations.empty()) return std::nullopt;
    ProjectModel m;
    m.activities = static_cast<int>(p.operations.size());
    m.resources = static_cast<int>(p.resources.size());
    for (const auto& r : p.resources) {
        if (r.calendar || r.shared || r.batch) return std::nullopt;
        m.capacity.push_back(r.capacity);
    }
    m.base.assign(p.operations.size(), 0);
    m.demand.assign(p.operations.size() * p.resources.size(), 0);
    std::int64_t total = 0;
    for (std::size_t o = 0; o < p.operations.size(); ++o) {
        const auto& operation = p.operations[o];
        if (operation.modes.size() != 1 || !operation.max_stretch ||
            operation.max_stretch->count() != 0 || operation.batch)
            return std::nullopt;
        const auto& mode = operation.modes[0];
        if (!mode.stages.empty() || mode.work.count() >= kLargestProject) return std::nullopt;
        m.duration.push_back(static_cast<int>(mode.work.count()));
        total += mode.work.count();
        for (const auto& need : mode.needs) {
            if (need.any_of.size() != 1) return std::nullopt;
            const std::size_t r = need.any_of[0].index();
            int& d = m.demand[o * p.resources.size() + r];
            if (d != 0) return std::nullopt;  // two needs of one mode choose different resources
            d = need.amount;
        }
        if (!operation.job.valid() || !p.jobs[operation.job.index()].order.valid()) continue;
        const auto& order = p.orders[p.jobs[operation.job.index()].order.index()];
        if (order.deadline) return std::nullopt;
        const auto at = (order.release - p.horizon_start).count();
        if (at >= kLargestProject) return std::nullopt;
        m.base[o] = static_cast<int>(std::max<std::int64_t>(0, at));
    }
    if (!project_arcs(p, m)) return std::nullopt;
    const int latest = *std::max_element(m.base.begin(), m.base.end());
    m.released = latest > 0;
    total += latest;
    if (total >= kLargestProject || total > (p.horizon_end - p.horizon_start).count())
        return std::nullopt;
    return m;
}

std::int64_t project_makespan_bound(const ProjectModel& m) {
    const auto n = static_cast<std::size_t>(m.activities);
    std::vector<std::int64_t> head(n, 0), tail(n, 0);
    std::int64_t bound = 0;
    for (const int a : m.topological) {
        const auto o = static_cast<std::size_t>(a);
        head[o] = std::max<std::int64_t>(head[o], m.base[o]);
        for (int e = m.first_after[o]; e < m.first_after[o + 1]; ++e) {
            auto& next = head[static_cast<std::size_t>(m.after[static_cast<std::size_t>(e)])];
            next = std::max(next, head[o] + m.duration[o]);
        }
        bound = std::max(bound, head[o] + m.duration[o]);
    }
    for (auto it = m.topological.rbegin(); it != m.topological.rend(); ++it) {
        const auto o = static_cast<std::size_t>(*it);
        for (int e = m.first_after[o]; e < m.first_after[o + 1]; ++e) {
            const auto to = static_cast<std::size_t>(m.after[static_cast<std::size_t>(e)]);
            tail[o] = std::max(tail[o], tail[to] + m.duration[to]);
        }
    }
    for (std::size_t r = 0; r < static_cast<std::size_t>(m.resources); ++r) {
        std::int64_t work = 0, first = -1, last = -1;
        for (std::size_t o = 0; o < n; ++o) {
            const std::int64_t d = m.demand[o * static_cast<std::size_t>(m.resources) + r];
            if (d == 0 || m.duration[o] == 0) continue;
            work += d * m.duration[o];
            first = first < 0 ? head[o] : std::min(first, head[o]);
            last = last < 0 ? tail[o] : std::min(last, tail[o]);
        }
        if (work > 0)
            bound = std::max(bound, first + last + (work + m.capacity[r] - 1) / m.capacity[r]);
    }
    return bound;
}

SerialScheme::SerialScheme(const ProjectModel& project) : project_(project) {
    const int largest = project.capacity.empty()
                            ? 0
                            : *std::max_element(project.capacity.begin(), project.capacity.end());
    // Four lanes of 15 bits and a guard bit each where capacities allow, else a word a resource.
    const int lanes = largest < (1 << 15) ? 4 : 1;
    const int width = 64 / lanes;
    words_ = std::max(1, (project.resources + lanes - 1) / lanes);
    for (int l = 0; l < lanes; ++l)
        guard_ |= std::uint64_t{1} << (l * width + width - 1);
    full_.assign(i(words_), 0);
    need_.assign(i(words_) * i(project.activities), 0);
    for (int r = 0; r < project.resources; ++r) {
        const int shift = (r % lanes) * width;
        full_[i(r / lanes)] |= static_cast<std::uint64_t>(project.capacity[i(r)]) << shift;
        for (int a = 0; a < project.activities; ++a) {
            need_[i(a * words_ + r / lanes)] |=
                static_cast<std::uint64_t>(project.demand[i(a * project.resources + r)]) << shift;
        }
    }
    times_.resize(2 * i(project.activities) + 4);
    free_.resize(times_.size() * i(words_));
}

/// Makes `time` a breakpoint right behind breakpoint `at`. @pre times_[at] < time < times_[at + 1]
void SerialScheme::split(int at, int time) {
    const std::size_t tail = i(count_ - at - 1);
    std::memmove(&times_[i(at) + 2], &times_[i(at) + 1], tail * sizeof(int));
    times_[i(at) + 1] = time;
    const std::size_t w = i(words_);
    std::memmove(&free_[(i(at) + 2) * w], &free_[(i(at) + 1) * w],
                 tail * w * sizeof(std::uint64_t));
    std::memcpy(&free_[(i(at) + 1) * w], &free_[i(at) * w], w * sizeof(std::uint64_t));
    ++count_;
}

int SerialScheme::run(const int* list, bool reversed, int* finish) {
    const int* first = reversed ? project_.first_after.data() : project_.first_before.data();
    const int* arcs = reversed ? project_.after.data() : project_.before.data();
    const std::size_t w = i(words_);
    count_ = 1;
    times_[0] = 0;
    std::copy(full_.begin(), full_.end(), free_.begin());
    int makespan = 0;
    for (int k = 0; k < project_.activities; ++k) {
        const int a = list[k];
        int start = reversed ? 0 : project_.base[i(a)];
        for (int e = first[a]; e < first[a + 1]; ++e)
            start = std::max(start, finish[arcs[e]]);
        const int length = project_.duration[i(a)];
        if (length > 0) {
            const std::uint64_t* need = &need_[i(a) * w];
            // The breakpoint at or before `start`.
            int at =
                static_cast<int>(std::upper_bound(times_.begin(), times_.begin() + count_, start) -
                                 times_.begin()) -
                1;
            int begin = at;
            for (int e = at;; ++e) {
                if (!fits(&free_[i(e) * w], need)) {
                    begin = e + 1;
                    start = times_[i(begin)];
                    continue;
                }
                if (e + 1 == count_ || times_[i(e) + 1] >= start + length) {
                    at = e;
                    break;
                }
            }
            const int end = start + length;
            if (at + 1 == count_ || times_[i(at) + 1] > end) split(at, end);
            if (times_[i(begin)] < start) {
                split(begin, start);
                ++begin;
                ++at;
            }
            for (int e = begin; e <= at; ++e) {
                for (std::size_t l = 0; l < w; ++l)
                    free_[i(e) * w + l] -= need[l];
            }
        }
        finish[a] = start + length;
        makespan = std::max(makespan, finish[a]);
    }
    return makespan;
}

}  // namespace sched::search
