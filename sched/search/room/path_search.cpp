// The population and what goes in and out of it; the two ways to improve one of its members are in
// path_tabu.cpp and path_anneal.cpp.

#include "sched/search/room/path_search.hpp"

#include <algorithm>
#include <limits>
#include <numeric>

namespace sched::search {

namespace {

constexpr std::size_t kElitesByTabu = 20;
constexpr std::size_t kElitesByAnnealing = 12;
constexpr double kHot = 8.0, kWarm = 1.0;  // of a new member, of a child; see cost()

}  // namespace

PathSearch::PathSearch(const GraphModel& model, const std::vector<std::int64_t>& bound, Rng rng,
                       Watch& watch)
    : m_(model),
      bound_(bound),
      n_(model.operations),
      makespan_first_(model.criteria.front() == core::Criterion::Makespan),
      rng_(rng),
      watch_(watch),
      graph_(model) {
    // Exact up to 2,048 operations; beyond that two pairs may share a cell, which only forbids a
    // little more.
    std::size_t cells = 1024;
    while (cells < ix(n_) * ix(n_) && cells < (std::size_t{1} << 22))
        cells *= 2;
    arcs_.assign(cells, 0);
    mask_ = cells - 1;
    places_.assign(model.time.size(), 0);
    const int groups =
        static_cast<int>(std::count_if(model.topological.begin(), model.topological.end(),
                                       [&](int o) { return model.group[ix(o)] == o; }));
    tenure_ = 10 + groups / std::max(1, model.places);
    ends_.resize(ix(n_) + 1);
    graph_.keep_tails(makespan_first_);
    double time = 0.0, weight = 0.0;
    for (int o = 0; o < n_; ++o)
        time += model.time[ix(model.first_choice[ix(o)])];
    time = std::max(1.0, time / n_);
    for (const auto w : model.weight)
        weight += static_cast<double>(w);
    weight = std::max(1.0, weight / std::max(1.0, static_cast<double>(model.weight.size())));
    double level = 1.0;
    for (const core::Criterion c : model.criteria) {
        const bool tardiness = c == core::Criterion::WeightedTardiness;
        const bool count = c == core::Criterion::LateOrders;
        scale_.push_back(level / (count ? 1.0 : tardiness ? time * weight : time));
        whole_ = whole_ || (!tardiness && !count);
        level *= 0.01;
    }
    first_.resize(ix(n_));
    second_.resize(ix(n_));
    key_.resize(ix(n_));
}

void PathSearch::keep(GraphOrder s) {
    if (!better(s.value, best_.value)) return;
    best_ = std::move(s);
}

bool PathSearch::step() {
    const auto before = best_.value;
    const std::size_t wanted = makespan_first_ ? kElitesByTabu : kElitesByAnnealing;
    if (!bred_) {
        elites_.push_back(improve(random_order(), true));
        bred_ = elites_.size() >= wanted;
        idle_ = 0;
    } else {
        const int size = static_cast<int>(elites_.size());
        const int a = rng_.below(size);
        int b = rng_.below(size - 1);
        if (b >= a) ++b;
        GraphOrder child = improve(between(elites_[ix(a)], elites_[ix(b)]), false);
        auto worse =
            makespan_first_
                ? std::max_element(elites_.begin(), elites_.end(),
                                   [](const auto& x, const auto& y) { return x.value < y.value; })
                : elites_.begin() + (elites_[ix(a)].value >= elites_[ix(b)].value ? a : b);
        const bool known = std::any_of(elites_.begin(), elites_.end(), [&](const auto& x) {
            return x.value == child.value &&
                   (!makespan_first_ || (x.order == child.order && x.choice == child.choice));
        });
        ++idle_;
        if (!known && child.value < worse->value) {
            *worse = std::move(child);
            idle_ = 0;
        }
        if (idle_ >= (makespan_first_ ? 3 : 8) * size) {  // all alike: from the beginning
            elites_.clear();
            bred_ = false;
        }
    }
    return best_.value != before;
}

GraphOrder PathSearch::improve(const GraphOrder& from, bool fresh) {
    GraphOrder s = makespan_first_ ? tabu(from) : anneal(from, fresh ? kHot : kWarm);
    keep(s);
    return s;
}

// A random list that the lags allow, each operation by the choice that ends it first. With due
// dates among those that could begin soonest the most urgent, blurred.
GraphOrder PathSearch::random_order() {
    GraphOrder s;
    s.choice.assign(ix(n_), -1);
    std::vector<double> urgent(m_.due.size() + 1, 0.0);
    for (std::size_t k = 0; k < m_.due.size(); ++k) {
        const double due = m_.due[k] >= engine::never ? 1e12 : static_cast<double>(m_.due[k]);
        urgent[k] = due * (0.5 + rng_.unit());
    }
    urgent.back() = 1e12;
    std::vector<int> waits(ix(n_)), next, ready(m_.base);
    std::vector<int> free(ix(m_.places), 0);
    for (int o = 0; o < n_; ++o) {
        waits[ix(o)] = m_.in_begin[ix(o) + 1] - m_.in_begin[ix(o)];
        if (waits[ix(o)] == 0) next.push_back(o);
    }
    const auto begin_by = [&](int o, int c) {
        int begin = ready[ix(o)];
        for (int need = 0; need < m_.width; ++need) {
            const int place = m_.place[ix((c << m_.shift) + need)];
            if (place >= 0) begin = std::max(begin, free[ix(place)]);
        }
        return begin;
    };
    while (!next.empty()) {
        std::size_t pick = ix(rng_.below(static_cast<int>(next.size())));
        if (!makespan_first_) {
            double best = std::numeric_limits<double>::infinity();
            for (std::size_t k = 0; k < next.size(); ++k) {
                const int o = next[k];
                const int order = m_.order[ix(o)];
                const double rank = 4.0 * begin_by(o, m_.first_choice[ix(o)]) +
                                    urgent[order >= 0 ? ix(order) : m_.due.size()];
                if (rank < best) {
                    best = rank;
                    pick = k;
                }
            }
        }
        const int o = next[pick];
        int end = 0, ties = 0;
        for (int c = m_.first_choice[ix(o)]; c < m_.first_choice[ix(o) + 1]; ++c) {
            const int e = begin_by(o, c) + m_.time[ix(c)];
            if (s.choice[ix(o)] < 0 || e < end) {
                s.choice[ix(o)] = c;
                end = e;
                ties = 1;
            } else if (e == end && rng_.below(++ties) == 0) {
                s.choice[ix(o)] = c;
            }
        }
        const int c = s.choice[ix(o)];
        const int length = m_.time[ix(c)];
        for (int need = 0; need < m_.width; ++need) {
            const int place = m_.place[ix((c << m_.shift) + need)];
            if (place >= 0) free[ix(place)] = end;
        }
        s.order.push_back(o);
        next[pick] = next.back();
        next.pop_back();
        for (int a = m_.out_begin[ix(o)]; a < m_.out_begin[ix(o) + 1]; ++a) {
            const GraphModel::Arc& arc = m_.out[ix(a)];
            int& at = ready[ix(arc.op)];
            at = std::max(at, end - (arc.from_start & length) + arc.weight);
            if (--waits[ix(arc.op)] == 0) next.push_back(arc.op);
        }
    }
    return s;
}

// Each operation's place is a mean of its places in both linear orders, with one weight for all
// that lags join. Both orders respect the lags, hence so does every such mean.
GraphOrder PathSearch::between(const GraphOrder& a, const GraphOrder& b) {
    for (int k = 0; k < n_; ++k) {
        first_[ix(a.order[ix(k)])] = k;
        second_[ix(b.order[ix(k)])] = k;
    }
    GraphOrder child{.value = {}, .order = a.order, .choice = a.choice};
    const double middle = 0.3 + 0.4 * rng_.unit();
    std::vector<double> weight(ix(n_), -1.0);
    for (const int o : m_.topological) {
        double& w = weight[ix(m_.group[ix(o)])];
        if (w < 0.0) w = std::clamp(middle + 0.4 * (rng_.unit() - 0.5), 0.0, 1.0);
        key_[ix(o)] = (1.0 - w) * first_[ix(o)] + w * second_[ix(o)];
        if (m_.chooses && rng_.unit() < middle) child.choice[ix(o)] = b.choice[ix(o)];
    }
    std::sort(child.order.begin(), child.order.end(), [this](int x, int y) {
        if (key_[ix(x)] != key_[ix(y)]) return key_[ix(x)] < key_[ix(y)];
        return first_[ix(x)] < first_[ix(y)];
    });
    return child;
}

bool PathSearch::join(const engine::CompiledProblem& problem,
                      const engine::FlatSchedule& schedule) {
    GraphOrder s;
    s.order = m_.topological;
    std::vector<int> at(ix(n_));
    for (int k = 0; k < n_; ++k)
        at[ix(m_.topological[ix(k)])] = k;
    std::sort(s.order.begin(), s.order.end(), [&](int a, int b) {
        const auto x = schedule.start[ix(a)], y = schedule.start[ix(b)];
        return x != y ? x < y : at[ix(a)] < at[ix(b)];
    });
    // Equal starts: what has no length first would be another order than that of the lags.
    std::vector<int> place_resource;
    for (std::size_t r = 0; r < problem.resources.size(); ++r)
        place_resource.insert(place_resource.end(), ix(problem.resources[r].capacity),
                              static_cast<int>(r));
    std::vector<engine::Tick> free(ix(m_.places), -engine::never);
    s.choice.assign(ix(n_), -1);
    for (const int o : s.order) {
        const auto& row = problem.operations[ix(o)];
        for (int c = m_.first_choice[ix(o)]; c < m_.first_choice[ix(o) + 1]; ++c) {
            if (m_.mode[ix(c)] != schedule.mode[ix(o)]) continue;
            const std::int32_t needs =
                problem.modes[ix(row.modes.begin + schedule.mode[ix(o)])].needs.size();
            bool fits = true;
            for (int need = 0; need < needs; ++need) {
                const int place = m_.place[ix((c << m_.shift) + need)];
                fits = fits && (place < 0 || (place_resource[ix(place)] ==
                                                  schedule.chosen[ix(row.chosen + need)] &&
                                              free[ix(place)] <= schedule.start[ix(o)]));
            }
            if (!fits) continue;
            s.choice[ix(o)] = c;
            break;
        }
        if (s.choice[ix(o)] < 0) return false;
        for (int need = 0; need < m_.width; ++need) {
            const int place = m_.place[ix((s.choice[ix(o)] << m_.shift) + need)];
            if (place >= 0) free[ix(place)] = schedule.work_end[ix(o)];
        }
    }
    std::vector<char> seen(ix(n_), 0);
    for (const int o : s.order) {
        for (int a = m_.in_begin[ix(o)]; a < m_.in_begin[ix(o) + 1]; ++a) {
            if (!seen[ix(m_.in[ix(a)].op)]) return false;
        }
        seen[ix(o)] = 1;
    }
    graph_.load(s.order, s.choice);
    graph_.evaluate(completion_, s.value);
    keep(s);
    if (bred_) {
        auto worst =
            std::max_element(elites_.begin(), elites_.end(),
                             [](const auto& x, const auto& y) { return x.value < y.value; });
        if (s.value < worst->value) *worst = std::move(s);
    } else {
        elites_.push_back(std::move(s));
    }
    return true;
}

engine::Sequence PathSearch::sequence(const engine::CompiledProblem& problem,
                                      const GraphOrder& order) {
    graph_.load(order.order, order.choice);
    engine::Sequence s;
    s.rank.resize(ix(n_));
    s.earliest.resize(ix(n_));
    s.mode.assign(ix(n_), -1);
    s.choice.assign(ix(n_), 0);
    std::vector<int> by_start = order.order;
    std::stable_sort(by_start.begin(), by_start.end(),
                     [&](int a, int b) { return graph_.head(a) < graph_.head(b); });
    for (int k = 0; k < n_; ++k)
        s.rank[ix(by_start[ix(k)])] = k;
    for (int o = 0; o < n_; ++o) {
        const int c = order.choice[ix(o)];
        s.earliest[ix(o)] = problem.horizon_start + graph_.head(o);
        if (problem.operations[ix(o)].modes.size() > 1)
            s.mode[ix(o)] = static_cast<std::int16_t>(m_.mode[ix(c)]);
        s.choice[ix(o)] = static_cast<std::uint8_t>(m_.gene[ix(c)]);
    }
    return s;
}

}  // namespace sched::search
