#include "sched/search/shop_elites.hpp"

#include <algorithm>
#include <numeric>

#include "sched/search/shop_mixer.hpp"
#include "sched/search/shop_tabu.hpp"

namespace sched::search {

namespace {

class ShopElites {
public:
    ShopElites(const ShopModel& shop, std::int64_t bound, Rng rng, Watch& watch)
        : shop_(shop), bound_(bound), rng_(rng), watch_(watch), tabu_(shop, bound), mixer_(shop) {}

    ShopSequence run() {
        // Something to show even when the watch ends it at once.
        keep(tabu_.improve(random_solution(), 0, rng_, watch_));
        while (!over()) {
            fill();
            evolve();
        }
        return best_;
    }

private:
    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    static constexpr int kPopulation = 20;
    static constexpr std::int64_t kPatience = 12'500;

    bool over() { return best_.value == bound_ || watch_.spent(); }

    void keep(const ShopSequence& s) {
        if (best_.value >= 0 && s.value >= best_.value) return;
        best_ = s;
        watch_.show(best_.value);
        if (best_.value <= bound_) watch_.proven();
    }

    /// A random list of the chains, each operation on the machine where it ends first.
    ShopSequence random_solution() {
        const int n = shop_.operations;
        ShopSequence s;
        s.alternative.resize(i(n));
        std::vector<int> next;
        for (int o = 0; o < n; ++o) {
            if (shop_.before[i(o)] == n) next.push_back(o);
        }
        std::vector<int> free(i(shop_.machines), 0);
        std::vector<int> ready(i(n) + 1, 0);
        while (!next.empty()) {
            const int k = rng_.below(static_cast<int>(next.size()));
            const int o = next[i(k)];
            int pick = -1;
            int pick_end = 0;
            int ties = 0;
            const int from = std::max(shop_.base[i(o)], ready[i(o)]);
            for (int a = shop_.first_alternative[i(o)]; a < shop_.first_alternative[i(o) + 1];
                 ++a) {
                const auto& way = shop_.alternatives[i(a)];
                const int end = std::max(from, free[i(way.machine)]) + way.time;
                if (pick < 0 || end < pick_end) {
                    pick = a;
                    pick_end = end;
                    ties = 1;
                } else if (end == pick_end && rng_.below(++ties) == 0) {
                    pick = a;
                }
            }
            s.alternative[i(o)] = pick;
            s.order.push_back(o);
            free[i(shop_.alternatives[i(pick)].machine)] = pick_end;
            const int after = shop_.after[i(o)];
            ready[i(after)] = pick_end;
            if (after == n) {
                next[i(k)] = next.back();
                next.pop_back();
            } else {
                next[i(k)] = after;
            }
        }
        return s;
    }

    void fill() {
        population_.clear();
        while (static_cast<int>(population_.size()) < kPopulation && !over()) {
            population_.push_back(tabu_.improve(random_solution(), kPatience, rng_, watch_));
            keep(population_.back());
        }
    }

    static bool same(const ShopSequence& a, const ShopSequence& b) {
        return a.value == b.value && a.order == b.order && a.alternative == b.alternative;
    }

    void evolve() {
        const int size = static_cast<int>(population_.size());
        if (size < 2) return;
        int idle = 0;  // children in a row that entered nothing
        while (!over() && idle < 3 * kPopulation) {
            const int a = rng_.below(size);
            int b = rng_.below(size - 1);
            if (b >= a) ++b;
            ShopSequence child =
                tabu_.improve(mixer_.between(population_[i(a)], population_[i(b)], rng_), kPatience,
                              rng_, watch_);
            keep(child);
            ++idle;
            const auto worst =
                std::max_element(population_.begin(), population_.end(),
                                 [](const auto& x, const auto& y) { return x.value < y.value; });
            const bool known = std::any_of(population_.begin(), population_.end(),
                                           [&](const auto& x) { return same(x, child); });
            if (known || child.value >= worst->value) continue;
            *worst = std::move(child);
            idle = 0;
        }
    }

    const ShopModel& shop_;
    std::int64_t bound_;
    Rng rng_;
    Watch& watch_;
    ShopTabu tabu_;
    ShopSequence best_;
    std::vector<ShopSequence> population_;
    ShopMixer mixer_;
};

}  // namespace

ShopPlan search_shop_makespan(const ShopModel& shop, std::int64_t bound, std::uint64_t seed,
                              int start, Watch& watch) {
    const ShopSequence s =
        ShopElites(shop, bound, Rng(seed, static_cast<std::uint64_t>(start)), watch).run();
    ShopState state(shop);
    state.load(s.order, s.alternative);
    ShopPlan plan{.value = s.value, .start = {}, .alternative = s.alternative};
    for (int o = 0; o < shop.operations; ++o)
        plan.start.push_back(state.head(o));
    return plan;
}

}  // namespace sched::search
