// The way back from fixed variables to a Schedule, and from a Schedule to what the solver should
// try first; and the branching that builds a schedule from its beginning.

#include <algorithm>
#include <cassert>
#include <limits>
#include <numeric>

#include "sched/search/exact/exact_model.hpp"

namespace sched::search {

using lcg::at_most;
using lcg::Lit;
using lcg::Term;

core::Schedule ExactModel::schedule() const {
    const auto instant = [&](Term t) {
        return p_.horizon_start + core::Seconds{engine_.lb(t) * grain_};
    };
    core::Schedule s;
    s.placements.resize(operations_.size());
    // Members of a pool, handed out in order of start.
    std::vector<std::vector<int>> free_at(pools_.size());
    for (std::size_t q = 0; q < pools_.size(); ++q)
        free_at[q].assign(pools_[q].members.size(), std::numeric_limits<int>::min());
    std::vector<int> order(operations_.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](int a, int b) {
        return engine_.lb(operations_[a].start) < engine_.lb(operations_[b].start);
    });
    for (const int i : order) {
        const auto& o = p_.operations[i];
        const auto& m = operations_[i];
        core::Placement& place = s.placements[i];
        place.start = instant(m.start);
        place.work_end = instant(m.work_end);
        place.end = instant(m.end);
        for (std::size_t k = 0; k < m.modes.size(); ++k) {
            if (!m.modes[k].valid() || engine_.is_true(m.modes[k]))
                place.mode = static_cast<int>(k);
        }
        const auto& needs = o.modes[place.mode].needs;
        const int from = engine_.lb(m.start);
        for (std::size_t q = 0; q < needs.size(); ++q) {
            int pool = -1;
            for (const auto& choice : m.choices[place.mode][q]) {
                if (!choice.when.valid() || engine_.is_true(choice.when)) pool = choice.pool;
            }
            assert(pool >= 0);
            std::size_t member = 0;
            auto& times = free_at[pool];
            if (times.size() > 1) {
                const int to = engine_.lb(needs[q].span == core::Span::Work ? m.work_end : m.end);
                const auto taken = [&](std::size_t c) {
                    return std::find(place.chosen.begin(), place.chosen.end(),
                                     pools_[pool].members[c]) != place.chosen.end();
                };
                while (member + 1 < times.size() &&
                       (taken(member) || (from < to && times[member] > from)))
                    ++member;
                if (from < to) times[member] = to;
            }
            place.chosen.push_back(pools_[pool].members[member]);
        }
    }
    return s;
}

void ExactModel::follow_current() {
    for (int v = 0; v < engine_.variables(); ++v)
        engine_.set_phase(v, engine_.lb(2 * v));
}

void ExactModel::follow(const core::Schedule& s) {
    const auto set = [&](Term t, core::SimTime at) {
        engine_.set_phase(lcg::variable_of(t.side), scaled_down(at) - t.offset);
    };
    for (std::size_t i = 0; i < operations_.size(); ++i) {
        const auto& place = s.placements[i];
        const auto& m = operations_[i];
        set(m.start, place.start);
        if (m.work_end.side != m.start.side) set(m.work_end, place.work_end);
        if (m.end.side != m.work_end.side) set(m.end, place.end);
        for (std::size_t k = 0; k < m.modes.size(); ++k) {
            const bool on = static_cast<int>(k) == place.mode;
            if (m.modes[k].valid())
                engine_.set_phase(lcg::variable_of(m.modes[k].side), on ? 1 : 0);
            for (std::size_t q = 0; q < m.choices[k].size(); ++q) {
                for (const auto& choice : m.choices[k][q]) {
                    if (!choice.when.valid() || choice.when == m.modes[k]) continue;
                    engine_.set_phase(
                        lcg::variable_of(choice.when.side),
                        on && pool_of_[place.chosen[q].index()] == choice.pool ? 1 : 0);
                }
            }
        }
    }
    for (const auto& pair : order_pairs_) {
        const bool before = s.placements[pair.a].start < s.placements[pair.b].start;
        engine_.set_phase(lcg::variable_of(pair.literal.side),
                          (before == (pair.literal.side % 2 == 0)) ? 1 : 0);
    }
}

ExactBrancher::ExactBrancher(const ExactModel& model) : model_(model) {
    const auto& ops = model.operations();
    for (std::size_t i = 0; i < ops.size(); ++i)
        events_.push_back({ops[i].start, static_cast<int>(i)});
    for (const auto& m : ops) {
        if (m.work_end.side != m.start.side) events_.push_back({m.work_end, -1});
        if (m.end.side != m.work_end.side) events_.push_back({m.end, -1});
    }
}

Lit ExactBrancher::next(const lcg::Engine& e) {
    int best = -1;
    int best_lb = 0;
    int best_ub = 0;
    for (int k = 0; k < static_cast<int>(events_.size()); ++k) {
        const Term t = events_[k].time;
        const int lo = e.lb(t);
        const int hi = e.ub(t);
        if (lo == hi) continue;
        if (best < 0 || lo < best_lb || (lo == best_lb && hi < best_ub)) {
            best = k;
            best_lb = lo;
            best_ub = hi;
        }
    }
    const auto open = [&](Lit l) { return l.valid() && !e.is_true(l) && !e.is_false(l); };
    const auto way_of = [&](const OperationModel& m) -> Lit {
        for (std::size_t k = 0; k < m.modes.size(); ++k) {
            if (open(m.modes[k])) return m.modes[k];
            for (const auto& need : m.choices[k]) {
                for (const auto& choice : need) {
                    if (open(choice.when)) return choice.when;
                }
            }
        }
        return {};
    };
    if (best >= 0) {
        if (events_[best].operation >= 0) {
            const Lit way = way_of(model_.operations()[events_[best].operation]);
            if (way.valid()) return way;
        }
        return at_most(events_[best].time, best_lb);
    }
    for (const auto& m : model_.operations()) {
        const Lit way = way_of(m);
        if (way.valid()) return way;
    }
    for (int v = 0; v < e.variables(); ++v) {
        if (e.lb(2 * v) != e.ub(2 * v)) return {2 * v + 1, -e.lb(2 * v)};
    }
    return {};
}

}  // namespace sched::search
