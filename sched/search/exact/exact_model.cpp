// How it works: start, work end and end of an operation are terms of one variable where nothing
// stretches, of more where something does. Modes and choices of resources are Booleans; lags
// are difference constraints, under a condition where a mode decides; calendars forbid spans;
// resources that are alike and asked for alike become one pool with a capacity.

#include "sched/search/exact/exact_model.hpp"

#include <algorithm>
#include <map>
#include <numeric>

#include "sched/search/exact/exact_order.hpp"
#include "sched/search/exact/lcg/lcg_cumulative.hpp"

namespace sched::search {

using core::Problem;
using lcg::at_least;
using lcg::at_most;
using lcg::Lit;
using lcg::negated;
using lcg::shifted;
using lcg::Side;
using lcg::Term;

std::int64_t time_grain(const Problem& p) {
    std::int64_t g = 0;
    const auto length = [&g](core::Seconds d) { g = std::gcd(g, d.count()); };
    const auto instant = [&](core::SimTime t) { length(t - p.horizon_start); };
    for (const auto& o : p.operations) {
        for (const auto& m : o.modes)
            length(m.work);
        if (o.max_stretch) length(*o.max_stretch);
    }
    for (const auto& o : p.orders) {
        instant(o.release);
        if (o.due) instant(*o.due);
        if (o.deadline) instant(*o.deadline);
    }
    for (const auto& r : p.resources) {
        if (!r.calendar) continue;
        for (const auto& w : *r.calendar) {
            instant(w.from);
            instant(w.to);
        }
    }
    for (const auto& c : p.constraints) {
        if (const auto* lag = std::get_if<core::TimeLag>(&c)) {
            length(lag->min);
            if (lag->max) length(*lag->max);
        } else if (const auto* window = std::get_if<core::StartWindow>(&c)) {
            if (window->not_before) instant(*window->not_before);
            if (window->not_after) instant(*window->not_after);
        }
    }
    return g == 0 ? 1 : g;
}

ExactModel::ExactModel(const Problem& problem, const std::vector<std::int64_t>& fixed)
    : p_(problem), grain_(time_grain(problem)) {
    horizon_ = scaled_down(p_.horizon_end);
    make_pools();
    make_times();
    if (!impossible_) {
        make_modes();
        make_lags();
        make_alike();
        make_uses();
        make_calendars();
        for (std::size_t k = 0; k < p_.objective.size() && k <= fixed.size(); ++k) {
            make_objective(k, k < fixed.size() ? std::optional(fixed[k]) : std::nullopt);
        }
    }
    if (impossible_) engine_.add_clause({});
    engine_.seal();
}

int ExactModel::scaled_time(core::SimTime t) const {
    return static_cast<int>((t - p_.horizon_start).count() / grain_);
}

int ExactModel::scaled_down(core::SimTime t) const {
    const std::int64_t d = (t - p_.horizon_start).count();
    return static_cast<int>(d >= 0 ? d / grain_ : -((-d + grain_ - 1) / grain_));
}

void ExactModel::clause(std::vector<Lit> lits, Lit when) {
    if (when.valid()) lits.push_back(negated(when));
    if (!engine_.add_clause(lits)) impossible_ = true;
}

void ExactModel::make_pools() {
    // Resources are alike when they have the same calendar and the same needs name them, and none
    // of these needs is bound to another operation's.
    std::vector<char> single(p_.resources.size(), 0);
    const auto bind = [&](core::OperationId o, int need) {
        for (const auto& m : p_.operations[o.index()].modes) {
            if (need >= static_cast<int>(m.needs.size())) continue;
            for (const auto r : m.needs[need].any_of)
                single[r.index()] = 1;
        }
    };
    for (const auto& c : p_.constraints) {
        if (const auto* same = std::get_if<core::SameResource>(&c)) {
            bind(same->a, same->need_a);
            bind(same->b, same->need_b);
        }
    }
    std::vector<std::vector<int>> named_by(p_.resources.size());
    int need_number = 0;
    for (const auto& o : p_.operations) {
        for (const auto& m : o.modes) {
            for (const auto& n : m.needs) {
                for (const auto r : n.any_of)
                    named_by[r.index()].push_back(need_number);
                ++need_number;
            }
        }
    }
    pool_of_.assign(p_.resources.size(), -1);
    std::map<std::vector<int>, std::vector<int>> like;  // named_by -> pools
    for (std::size_t r = 0; r < p_.resources.size(); ++r) {
        const auto& resource = p_.resources[r];
        if (!single[r] && resource.capacity == 1) {
            for (const int q : like[named_by[r]]) {
                if (p_.resources[pools_[q].members[0].index()].calendar != resource.calendar)
                    continue;
                pools_[q].members.push_back(core::ResourceId{r});
                ++pools_[q].capacity;
                pool_of_[r] = q;
                break;
            }
        }
        if (pool_of_[r] >= 0) continue;
        pool_of_[r] = static_cast<int>(pools_.size());
        if (!single[r] && resource.capacity == 1) like[named_by[r]].push_back(pool_of_[r]);
        pools_.push_back({{core::ResourceId{r}}, resource.capacity});
    }
}

void ExactModel::make_times() {
    const std::size_t n = p_.operations.size();
    std::vector<int> from(n, 0);
    std::vector<int> to(n, horizon_);
    std::vector<std::optional<int>> done_by(n);
    for (std::size_t i = 0; i < n; ++i) {
        const auto job = p_.operations[i].job;
        if (!job.valid() || !p_.jobs[job.index()].order.valid()) continue;
        const auto& order = p_.orders[p_.jobs[job.index()].order.index()];
        from[i] = std::max(from[i], scaled_time(order.release));
        if (order.deadline) done_by[i] = scaled_down(*order.deadline);
    }
    for (const auto& c : p_.constraints) {
        const auto* w = std::get_if<core::StartWindow>(&c);
        if (!w) continue;
        const std::size_t i = w->operation.index();
        const bool begun = w->not_before && w->not_after && *w->not_before == *w->not_after;
        if (begun && from[i] == 0) from[i] = std::min(from[i], scaled_time(*w->not_before));
        if (w->not_before) from[i] = std::max(from[i], scaled_time(*w->not_before));
        if (w->not_after) to[i] = std::min(to[i], scaled_time(*w->not_after));
    }
    operations_.resize(n);
    may_be_empty_.assign(2 * n, 0);
    for (std::size_t i = 0; i < n; ++i) {
        const auto& o = p_.operations[i];
        OperationModel& m = operations_[i];
        int shortest = horizon_ + 1;
        int longest = 0;
        for (const auto& mode : o.modes) {
            shortest = std::min(shortest, scaled_length(mode.work));
            longest = std::max(longest, scaled_length(mode.work));
        }
        to[i] = std::min(to[i], horizon_ - shortest);
        if (from[i] > to[i]) {
            impossible_ = true;
            return;
        }
        m.start = {2 * engine_.new_variable(from[i], to[i]), 0};
        if (shortest == longest) {
            m.work_end = shifted(m.start, shortest);
        } else {
            m.work_end = {2 * engine_.new_variable(from[i] + shortest, horizon_), 0};
            engine_.add_difference(m.start, shortest, m.work_end);
            engine_.add_difference(m.work_end, -longest, m.start);
        }
        if (o.max_stretch && o.max_stretch->count() == 0) {
            m.end = m.work_end;
        } else {
            m.end = {2 * engine_.new_variable(from[i] + shortest, horizon_), 0};
            engine_.add_difference(m.work_end, 0, m.end);
            if (o.max_stretch)
                engine_.add_difference(m.end, -scaled_length(*o.max_stretch), m.work_end);
        }
        m.completion = o.max_stretch ? m.end : m.work_end;
        clause({at_most(m.end, horizon_)});
        clause({at_most(m.work_end, horizon_)});
        if (done_by[i]) clause({at_most(m.completion, *done_by[i])});
        may_be_empty_[2 * i] = may_be_empty_[2 * i + 1] = shortest == 0;
    }
}

void ExactModel::make_modes() {
    for (std::size_t i = 0; i < operations_.size(); ++i) {
        const auto& o = p_.operations[i];
        OperationModel& m = operations_[i];
        if (o.modes.size() == 1) {
            m.modes.push_back({});
        } else {
            for (std::size_t k = 0; k < o.modes.size(); ++k)
                m.modes.push_back(engine_.new_bool());
            clause(m.modes);
            for (std::size_t a = 0; a < m.modes.size(); ++a) {
                for (std::size_t b = 0; b < a; ++b)
                    clause({negated(m.modes[a]), negated(m.modes[b])});
            }
            if (m.work_end.side != m.start.side) {
                for (std::size_t k = 0; k < o.modes.size(); ++k) {
                    const int d = scaled_length(o.modes[k].work);
                    engine_.add_difference(m.start, d, m.work_end, m.modes[k]);
                    engine_.add_difference(m.work_end, -d, m.start, m.modes[k]);
                }
            }
        }
        m.choices.resize(o.modes.size());
        for (std::size_t k = 0; k < o.modes.size(); ++k) {
            const auto& needs = o.modes[k].needs;
            m.choices[k].resize(needs.size());
            for (std::size_t q = 0; q < needs.size(); ++q) {
                std::vector<int> pools;
                for (const auto r : needs[q].any_of)
                    pools.push_back(pool_of_[r.index()]);
                std::sort(pools.begin(), pools.end());
                pools.erase(std::unique(pools.begin(), pools.end()), pools.end());
                auto& choice = m.choices[k][q];
                if (pools.size() == 1) {
                    choice.push_back({pools[0], m.modes[k]});
                    continue;
                }
                std::vector<Lit> any;
                for (const int pool : pools) {
                    choice.push_back({pool, engine_.new_bool()});
                    any.push_back(choice.back().when);
                    if (m.modes[k].valid()) clause({m.modes[k]}, choice.back().when);
                }
                clause(any, m.modes[k]);
                for (std::size_t a = 0; a < any.size(); ++a) {
                    for (std::size_t b = 0; b < a; ++b)
                        clause({negated(any[a]), negated(any[b])});
                }
            }
            // Two needs choose different resources; members of a larger pool are told apart later.
            for (std::size_t a = 0; a < needs.size(); ++a) {
                for (std::size_t b = 0; b < a; ++b) {
                    for (const auto& ca : m.choices[k][a]) {
                        for (const auto& cb : m.choices[k][b]) {
                            if (ca.pool != cb.pool || pools_[ca.pool].members.size() > 1) continue;
                            std::vector<Lit> not_both;
                            if (ca.when.valid()) not_both.push_back(negated(ca.when));
                            clause(not_both, cb.when);
                        }
                    }
                }
            }
        }
    }
    for (const auto& c : p_.constraints) {
        if (const auto* same = std::get_if<core::SameMode>(&c)) {
            const auto& a = operations_[same->a.index()].modes;
            const auto& b = operations_[same->b.index()].modes;
            for (std::size_t k = 0; k < a.size() && a.size() > 1; ++k) {
                clause({b[k]}, a[k]);
                clause({a[k]}, b[k]);
            }
        } else if (const auto* bound = std::get_if<core::SameResource>(&c)) {
            const auto& a = operations_[bound->a.index()];
            const auto& b = operations_[bound->b.index()];
            for (std::size_t ka = 0; ka < a.choices.size(); ++ka) {
                if (bound->need_a >= static_cast<int>(a.choices[ka].size())) continue;
                for (std::size_t kb = 0; kb < b.choices.size(); ++kb) {
                    if (bound->need_b >= static_cast<int>(b.choices[kb].size())) continue;
                    for (const auto& ca : a.choices[ka][bound->need_a]) {
                        // a's resource chosen and b in mode kb: b chooses the same
                        std::vector<Lit> same_one;
                        bool sure = false;
                        for (const auto& cb : b.choices[kb][bound->need_b]) {
                            if (cb.pool != ca.pool) continue;
                            if (cb.when.valid())
                                same_one.push_back(cb.when);
                            else
                                sure = true;
                        }
                        if (sure) continue;
                        if (b.modes[kb].valid()) same_one.push_back(negated(b.modes[kb]));
                        clause(same_one, ca.when);
                    }
                    for (const auto& cb : b.choices[kb][bound->need_b]) {
                        std::vector<Lit> same_one;
                        bool sure = false;
                        for (const auto& ca : a.choices[ka][bound->need_a]) {
                            if (cb.pool != ca.pool) continue;
                            if (ca.when.valid())
                                same_one.push_back(ca.when);
                            else
                                sure = true;
                        }
                        if (sure) continue;
                        if (a.modes[ka].valid()) same_one.push_back(negated(a.modes[ka]));
                        clause(same_one, cb.when);
                    }
                }
            }
        }
    }
}

void ExactModel::make_lags() {
    for (const auto& c : p_.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (!lag) continue;
        const auto& a = operations_[lag->from.index()];
        const Term from = lag->edge == core::Edge::Start     ? a.start
                          : lag->edge == core::Edge::WorkEnd ? a.work_end
                                                             : a.end;
        const Term to = operations_[lag->to.index()].start;
        engine_.add_difference(from, scaled_length(lag->min), to);
        if (lag->max) engine_.add_difference(to, -scaled_length(*lag->max), from);
    }
}

void ExactModel::make_calendars() {
    for (std::size_t i = 0; i < operations_.size(); ++i) {
        const auto& o = p_.operations[i];
        const auto& m = operations_[i];
        for (std::size_t k = 0; k < o.modes.size(); ++k) {
            for (std::size_t q = 0; q < o.modes[k].needs.size(); ++q) {
                const Term end = o.modes[k].needs[q].span == core::Span::Work ? m.work_end : m.end;
                for (const auto& choice : m.choices[k][q]) {
                    const auto& calendar =
                        p_.resources[pools_[choice.pool].members[0].index()].calendar;
                    if (!calendar || engine_.lb(m.start) == engine_.ub(end)) continue;
                    if (o.modes[k].work.count() == 0 && end == m.work_end) continue;
                    if (calendar->empty()) {
                        clause({}, choice.when);
                        continue;
                    }
                    clause({at_least(m.start, scaled_time(calendar->front().from))}, choice.when);
                    clause({at_most(end, scaled_time(calendar->back().to))}, choice.when);
                    for (std::size_t w = 1; w < calendar->size(); ++w) {
                        clause({at_most(end, scaled_time((*calendar)[w - 1].to)),
                                at_least(m.start, scaled_time((*calendar)[w].from))},
                               choice.when);
                    }
                }
            }
        }
    }
}

void ExactModel::make_uses() {
    std::vector<PoolUses> pools(pools_.size());
    for (std::size_t q = 0; q < pools_.size(); ++q)
        pools[q].capacity = pools_[q].capacity;
    for (std::size_t i = 0; i < operations_.size(); ++i) {
        const auto& o = p_.operations[i];
        const auto& m = operations_[i];
        for (std::size_t k = 0; k < o.modes.size(); ++k) {
            for (std::size_t q = 0; q < o.modes[k].needs.size(); ++q) {
                const auto& need = o.modes[k].needs[q];
                const bool work = need.span == core::Span::Work;
                if (o.modes[k].work.count() == 0 && (work || m.end == m.work_end)) continue;
                for (const auto& choice : m.choices[k][q]) {
                    pools[choice.pool].uses.push_back(
                        {.use = {m.start, work ? m.work_end : m.end, need.amount, choice.when,
                                 scaled_length(o.modes[k].work)},
                         .operation = static_cast<int>(i),
                         .may_be_empty = may_be_empty_[2 * i] != 0});
                }
            }
        }
    }
    order_pairs_ = post_pools(engine_, pools);
}

}  // namespace sched::search
