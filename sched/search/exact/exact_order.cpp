#include "sched/search/exact/exact_order.hpp"

#include <algorithm>
#include <map>
#include <tuple>

#include "sched/search/exact/lcg/lcg_energy.hpp"

namespace sched::search {

using lcg::Lit;
using lcg::negated;
using lcg::Use;

namespace {

constexpr std::size_t kMostPairs = 60000;
// Energy costs O(n²) a call: measured to pay up to these sizes.
constexpr std::size_t kMostInUnary = 160;
constexpr std::size_t kMostInCumulative = 70;

bool certain(const lcg::Engine& engine, Lit present) {
    return !present.valid() || engine.is_true(present);
}

class OrderPoster {
public:
    explicit OrderPoster(lcg::Engine& engine) : engine_(engine) {}

    /// x and y never run together when both are present. @returns false when out of room.
    bool apart(const PoolUse& x, const PoolUse& y) {
        const Use& a = x.use;
        const Use& b = y.use;
        const bool a_first =
            engine_.lb(a.end) <= engine_.ub(b.start) && distance(b.start, a.end) <= 0;
        const bool b_first =
            engine_.lb(b.end) <= engine_.ub(a.start) && distance(a.start, b.end) <= 0;
        if (distance(a.end, b.start) >= 0 || distance(b.end, a.start) >= 0)
            return true;  // by their lags
        const auto key = std::make_tuple(x.operation, a.end.side, a.end.offset, y.operation,
                                         b.end.side, b.end.offset);
        const bool sure = certain(engine_, a.present) && certain(engine_, b.present);
        if (!a_first && !b_first) {
            std::vector<Lit> not_both;
            if (!certain(engine_, a.present)) not_both.push_back(negated(a.present));
            if (!certain(engine_, b.present)) not_both.push_back(negated(b.present));
            engine_.add_clause(not_both);
            return true;
        }
        if (sure) {
            if (a_first != b_first) {
                if (a_first)
                    engine_.add_difference(a.end, 0, b.start);
                else
                    engine_.add_difference(b.end, 0, a.start);
                return true;
            }
            auto& have = sure_[key];
            if (have.valid()) return true;
            if (++pairs_ > kMostPairs) return false;
            have = engine_.new_bool();
            engine_.add_difference(a.end, 0, b.start, have);
            engine_.add_difference(b.end, 0, a.start, negated(have));
            suggest(a, b, have);
            found_.push_back({x.operation, y.operation, have});
            return true;
        }
        auto& have = open_[key];
        if (!have.first.valid()) {
            if (++pairs_ > kMostPairs) return false;
            have.first = engine_.new_bool();
            have.second = engine_.new_bool();
            engine_.add_difference(a.end, 0, b.start, have.first);
            engine_.add_difference(b.end, 0, a.start, have.second);
            suggest(a, b, have.first);
            suggest(b, a, have.second);
            found_.push_back({x.operation, y.operation, have.first});
            found_.push_back({y.operation, x.operation, have.second});
        }
        std::vector<Lit> either{have.first, have.second};
        if (!certain(engine_, a.present)) either.push_back(negated(a.present));
        if (!certain(engine_, b.present)) either.push_back(negated(b.present));
        engine_.add_clause(either);
        return true;
    }

    bool positive_cycle() const { return positive_cycle_; }
    std::vector<OrderPair> take() { return std::move(found_); }

private:
    /// The second term is at least this much after the first, whatever happens.
    int distance(lcg::Term from, lcg::Term to) {
        auto& row = distances_[from.side / 2];
        if (row.empty() && !engine_.longest_paths(from.side, row)) positive_cycle_ = true;
        const int d = row[to.side / 2];
        return d == lcg::Engine::kNoPath ? d : d + to.offset - from.offset;
    }

    void suggest(const Use& a, const Use& b, Lit before) {
        const int mid_a = engine_.lb(a.start) + engine_.ub(a.start);
        const int mid_b = engine_.lb(b.start) + engine_.ub(b.start);
        engine_.suggest(lcg::variable_of(before.side), mid_a <= mid_b);
    }

    using Key = std::tuple<int, int, int, int, int, int>;
    lcg::Engine& engine_;
    std::vector<std::vector<int>> distances_{static_cast<std::size_t>(engine_.variables())};
    bool positive_cycle_ = false;
    std::map<Key, Lit> sure_;
    std::map<Key, std::pair<Lit, Lit>> open_;
    std::vector<OrderPair> found_;
    std::size_t pairs_ = 0;
};

}  // namespace

std::vector<OrderPair> post_pools(lcg::Engine& engine, const std::vector<PoolUses>& pools) {
    OrderPoster poster(engine);
    for (const auto& pool : pools) {
        bool all_apart = true;
        for (std::size_t i = 0; i < pool.uses.size(); ++i) {
            for (std::size_t k = i + 1; k < pool.uses.size(); ++k) {
                const PoolUse& x = pool.uses[i];
                const PoolUse& y = pool.uses[k];
                if (x.operation == y.operation && x.use.present != y.use.present)
                    continue;  // two ways of one
                if (x.operation == y.operation || x.may_be_empty || y.may_be_empty ||
                    x.use.demand + y.use.demand <= pool.capacity || !poster.apart(x, y)) {
                    all_apart = false;
                }
            }
        }
        std::int64_t demand = 0;
        for (const auto& x : pool.uses)
            demand += x.use.demand;
        if (demand <= pool.capacity) continue;
        std::vector<Use> uses;
        for (const auto& x : pool.uses)
            uses.push_back(x.use);
        if (!all_apart) lcg::post_cumulative(engine, uses, pool.capacity);
        if (uses.size() <= (all_apart ? kMostInUnary : kMostInCumulative)) {
            lcg::post_energy(engine, uses, pool.capacity);
        }
    }
    if (poster.positive_cycle()) engine.add_clause(std::vector<Lit>{});
    return poster.take();
}

}  // namespace sched::search
