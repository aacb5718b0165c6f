// How it works: heads and tails are longest paths along the lags. For every set of resources
// that some need names, what must be done by it is put on one machine (work content by heads,
// Jackson's preemptive schedule with tails); costs of orders come from their heads, from the k
// smallest works, and from the best order of all (bounds_orders.hpp). Each criterion takes the
// largest.

#include "sched/search/bounds/bounds.hpp"

#include <algorithm>
#include <functional>
#include <iterator>
#include <limits>
#include <queue>
#include <set>

#include "sched/search/bounds/bounds_assign.hpp"
#include "sched/search/bounds/bounds_batches.hpp"
#include "sched/search/bounds/bounds_orders.hpp"

namespace sched::search {

namespace {

using core::Problem;

constexpr std::size_t kMostGroups = 400;
constexpr std::size_t kMostJoined = 60;
constexpr std::int64_t kOrderNodes = 20'000;

class BoundMaker {
public:
    explicit BoundMaker(const Problem& p)
        : p_(p), n_(p.operations.size()), early_(earliest_times(p)), sharers_(most_sharers(p)) {
        order_.assign(n_, -1);
        for (std::size_t i = 0; i < n_; ++i) {
            const auto job = p_.operations[i].job;
            if (job.valid() && p_.jobs[job.index()].order.valid())
                order_[i] = p_.jobs[job.index()].order.value;
        }
        tail_ = tails(false);
        order_tail_ = tails(true);
        make_groups();
    }

    core::Value run() {
        core::Value v;
        for (const auto c : p_.objective) {
            switch (c) {
                case core::Criterion::Makespan:
                    v.parts.push_back(makespan());
                    break;
                case core::Criterion::WeightedTardiness:
                    v.parts.push_back(
                        by_orders([](const core::Order& o, std::int64_t done, std::int64_t due) {
                            return o.due ? o.weight * std::max<std::int64_t>(0, done - due) : 0;
                        }));
                    break;
                case core::Criterion::LateOrders:
                    v.parts.push_back(
                        by_orders([](const core::Order& o, std::int64_t done, std::int64_t due) {
                            return std::int64_t{o.due && done > due};
                        }));
                    break;
                case core::Criterion::FlowTime:
                    v.parts.push_back(
                        by_orders([this](const core::Order& o, std::int64_t done, std::int64_t) {
                            return std::max<std::int64_t>(0, done - since(o.release));
                        }));
                    break;
                case core::Criterion::Overtime:
                case core::Criterion::Holding:
                    v.parts.push_back(0);
                    break;
            }
        }
        return v;
    }

private:
    std::int64_t since(core::SimTime t) const { return (t - p_.horizon_start).count(); }

    /// Least seconds from the work end of each operation to the end of all (of its order: to the
    /// end of that order's operations).
    std::vector<std::int64_t> tails(bool in_order) const {
        std::vector<std::int64_t> after(n_, 0);
        bool changed = true;
        for (std::size_t round = 0; changed && round <= n_; ++round) {
            changed = false;
            for (const auto& c : p_.constraints) {
                const auto* lag = std::get_if<core::TimeLag>(&c);
                if (!lag) continue;
                const std::size_t a = lag->from.index();
                const std::size_t b = lag->to.index();
                if (in_order && order_[a] != order_[b]) continue;
                std::int64_t t = lag->min.count() + early_.shortest[b] + after[b];
                if (lag->edge == core::Edge::Start) {
                    // From the start; the work end is known to be `work` later only if nothing
                    // varies.
                    const auto& o = p_.operations[a];
                    if (o.modes.size() > 1 || o.pausable || !o.modes[0].stages.empty()) continue;
                    t -= o.modes[0].work.count();
                }
                if (t > after[a]) {
                    after[a] = t;
                    changed = true;
                }
            }
        }
        if (changed) std::fill(after.begin(), after.end(), 0);  // a positive cycle: infeasible
        return after;
    }

    void make_groups() {
        std::set<std::vector<core::ResourceId>> sets;
        for (std::size_t r = 0; r < p_.resources.size(); ++r)
            sets.insert({core::ResourceId{r}});
        for (const auto& o : p_.operations) {
            for (const auto& m : o.modes) {
                for (const auto& need : m.needs) {
                    auto s = need.any_of;
                    std::sort(s.begin(), s.end());
                    s.erase(std::unique(s.begin(), s.end()), s.end());
                    sets.insert(std::move(s));
                }
            }
            // One need a mode on different resources (a machine to choose): their union.
            std::vector<core::ResourceId> all;
            for (const auto& m : o.modes) {
                if (m.needs.size() == 1)
                    all.insert(all.end(), m.needs[0].any_of.begin(), m.needs[0].any_of.end());
            }
            std::sort(all.begin(), all.end());
            all.erase(std::unique(all.begin(), all.end()), all.end());
            if (!all.empty()) sets.insert(std::move(all));
            if (sets.size() > kMostGroups) break;
        }
        join(sets);
        for (const auto& s : sets) {
            ResourceGroup g{.resources = s};
            for (const auto r : s)
                g.capacity += p_.resources[r.index()].capacity;
            for (std::size_t i = 0; i < n_; ++i) {
                const std::int64_t w = sure_work(i, s);
                if (w > 0) g.loads.push_back({i, w});
            }
            if (!g.loads.empty()) groups_.push_back(std::move(g));
        }
    }

    /// Sets that overlap, together: what only Ada or Ben can do and what only Ada or Cleo can do is
    /// work for the three of them (the condition of Hall 1935 names every union).
    static void join(std::set<std::vector<core::ResourceId>>& sets) {
        for (bool grows = sets.size() <= kMostJoined; grows && sets.size() <= kMostJoined;) {
            grows = false;
            const std::vector<std::vector<core::ResourceId>> all(sets.begin(), sets.end());
            for (std::size_t a = 0; a < all.size(); ++a) {
                for (std::size_t b = a + 1; b < all.size(); ++b) {
                    std::vector<core::ResourceId> both, either;
                    std::set_intersection(all[a].begin(), all[a].end(), all[b].begin(),
                                          all[b].end(), std::back_inserter(both));
                    if (both.empty()) continue;
                    std::set_union(all[a].begin(), all[a].end(), all[b].begin(), all[b].end(),
                                   std::back_inserter(either));
                    grows = sets.insert(std::move(either)).second || grows;
                }
                if (sets.size() > kMostJoined) return;
            }
        }
    }

    /// The least that the operation takes from the set, whatever is chosen; what a batch shares is
    /// counted by its share.
    std::int64_t sure_work(std::size_t i, const std::vector<core::ResourceId>& set) const {
        std::int64_t least = std::numeric_limits<std::int64_t>::max();
        for (const auto& m : p_.operations[i].modes) {
            std::int64_t here = 0;
            for (const auto& need : m.needs) {
                const bool inside = std::all_of(
                    need.any_of.begin(), need.any_of.end(),
                    [&](auto r) { return std::binary_search(set.begin(), set.end(), r); });
                if (inside) here += need.amount * fastest_work(p_, m);
            }
            least = std::min(least, here);
        }
        return least / sharers_[i];
    }

    std::int64_t makespan() const {
        std::int64_t best = 0;
        for (std::size_t i = 0; i < n_; ++i)
            best = std::max(best, early_.work_end[i] + tail_[i]);
        for (const ResourceGroup& g : groups_) {
            best = std::max(best, content(g));
            if (g.capacity == 1) best = std::max(best, one_machine(g));
        }
        return best;
    }

    /// Work content: what starts at or after some head has to be done from there on.
    std::int64_t content(const ResourceGroup& g) const {
        std::vector<GroupLoad> loads = g.loads;
        std::sort(loads.begin(), loads.end(), [this](const GroupLoad& a, const GroupLoad& b) {
            return early_.start[a.operation] > early_.start[b.operation];
        });
        const CapacityClock clock(p_, g.resources);
        std::int64_t work = 0;
        std::int64_t tail = std::numeric_limits<std::int64_t>::max();
        std::int64_t best = 0;
        for (std::size_t k = 0; k < loads.size(); ++k) {
            work += loads[k].work;
            tail = std::min(tail, tail_[loads[k].operation]);
            const std::int64_t head = early_.start[loads[k].operation];
            if (k + 1 < loads.size() && early_.start[loads[k + 1].operation] == head) continue;
            best = std::max(best, clock.after(head, work) + tail);
        }
        return best;
    }

    /// Jackson's preemptive schedule: at any time the available load with the longest tail.
    std::int64_t one_machine(const ResourceGroup& g) const {
        std::vector<GroupLoad> loads = g.loads;
        std::sort(loads.begin(), loads.end(), [this](const GroupLoad& a, const GroupLoad& b) {
            return early_.start[a.operation] < early_.start[b.operation];
        });
        std::priority_queue<std::pair<std::int64_t, std::int64_t>> ready;  // tail, work left
        std::int64_t now = 0;
        std::int64_t best = 0;
        for (std::size_t k = 0; k < loads.size() || !ready.empty();) {
            if (ready.empty()) now = std::max(now, early_.start[loads[k].operation]);
            for (; k < loads.size() && early_.start[loads[k].operation] <= now; ++k) {
                ready.emplace(tail_[loads[k].operation], loads[k].work);
            }
            auto [tail, left] = ready.top();
            ready.pop();
            const std::int64_t next = k < loads.size() ? early_.start[loads[k].operation]
                                                       : std::numeric_limits<std::int64_t>::max();
            const std::int64_t step = std::min(left, next - now);
            now += step;
            if (step < left)
                ready.emplace(tail, left - step);
            else
                best = std::max(best, now + tail);
        }
        return best;
    }

    /// Sum over orders of a cost that does not fall as the completion grows.
    template <class Cost>
    std::int64_t by_orders(Cost cost) const {
        const std::size_t orders = p_.orders.size();
        std::vector<std::int64_t> done(orders, std::numeric_limits<std::int64_t>::min());
        for (std::size_t i = 0; i < n_; ++i) {
            if (order_[i] >= 0)
                done[order_[i]] = std::max(done[order_[i]], early_.work_end[i] + order_tail_[i]);
        }
        const auto of = [&](std::size_t o, std::int64_t c) {
            return cost(p_.orders[o], c, p_.orders[o].due ? since(*p_.orders[o].due) : 0);
        };
        std::vector<std::int64_t> alone(orders, 0);
        std::int64_t sum = 0;
        for (std::size_t o = 0; o < orders; ++o) {
            if (done[o] != std::numeric_limits<std::int64_t>::min()) alone[o] = of(o, done[o]);
            sum += alone[o];
        }
        const std::function<std::int64_t(std::size_t, std::int64_t)> price = of;
        std::int64_t best = std::max(
            sum, order_bound(p_, {groups_, early_, order_tail_, order_, done}, price, kOrderNodes));
        for (const ResourceGroup& g : groups_) {
            struct Part {
                std::size_t order = 0;
                std::int64_t work = 0;
                std::int64_t tail = std::numeric_limits<std::int64_t>::max();
            };
            std::vector<Part> by_order(orders);
            std::int64_t head = std::numeric_limits<std::int64_t>::max();
            for (const GroupLoad& l : g.loads) {
                if (order_[l.operation] < 0) continue;
                Part& part = by_order[order_[l.operation]];
                part.work += l.work;
                part.tail = std::min(part.tail, order_tail_[l.operation]);
                head = std::min(head, early_.start[l.operation]);
            }
            std::vector<Part> parts;
            std::int64_t rest = sum;
            for (std::size_t o = 0; o < orders; ++o) {
                if (by_order[o].work == 0) continue;
                by_order[o].order = o;
                parts.push_back(by_order[o]);
                rest -= alone[o];
            }
            if (parts.size() < 2 || parts.size() > 100) continue;
            std::vector<std::int64_t> works;
            for (const Part& x : parts)
                works.push_back(x.work);
            std::sort(works.begin(), works.end());
            const CapacityClock clock(p_, g.resources);
            std::vector<std::int64_t> leaves;  // of the k-th to leave
            std::int64_t work = 0;
            for (const auto w : works)
                leaves.push_back(clock.after(head, work += w));
            std::vector<std::vector<std::int64_t>> costs(parts.size(),
                                                         std::vector<std::int64_t>(parts.size()));
            for (std::size_t x = 0; x < parts.size(); ++x) {
                for (std::size_t k = 0; k < parts.size(); ++k) {
                    const std::size_t o = parts[x].order;
                    costs[x][k] = of(o, std::max(done[o], leaves[k] + parts[x].tail));
                }
            }
            best = std::max(best, rest + least_assignment(costs));
        }
        return best;
    }

    const Problem& p_;
    std::size_t n_;
    EarliestTimes early_;
    std::vector<std::int64_t> sharers_;  // how many at most share a batch
    std::vector<int> order_;
    std::vector<std::int64_t> tail_;
    std::vector<std::int64_t> order_tail_;
    std::vector<ResourceGroup> groups_;
};

}  // namespace

core::Value lower_bounds(const Problem& problem) {
    return BoundMaker(problem).run();
}

}  // namespace sched::search
