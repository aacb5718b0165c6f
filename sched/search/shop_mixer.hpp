#pragma once
// Relinking of shop solutions: a new one that lies between two others.

#include <algorithm>
#include <vector>

#include "sched/search/rng.hpp"
#include "sched/search/shop_state.hpp"

namespace sched::search {

class ShopMixer {
public:
    explicit ShopMixer(const ShopModel& shop)
        : shop_(shop),
          first_(i(shop.operations)),
          second_(i(shop.operations)),
          key_(i(shop.operations)) {}

    /// Each operation's place is a mean of its places in both linear orders, weighted by one number
    /// a chain. Both orders respect the chains, hence so does every such mean. The value stays
    /// open.
    ShopSequence between(const ShopSequence& a, const ShopSequence& b, Rng& rng) {
        const int n = shop_.operations;
        for (int k = 0; k < n; ++k) {
            first_[i(a.order[i(k)])] = k;
            second_[i(b.order[i(k)])] = k;
        }
        ShopSequence child{.value = -1, .order = a.order, .alternative = a.alternative};
        const double middle = 0.3 + 0.4 * rng.unit();
        double weight = middle;
        for (const int o : shop_.chain_order) {
            if (shop_.before[i(o)] == n)
                weight = std::clamp(middle + 0.4 * (rng.unit() - 0.5), 0.0, 1.0);
            key_[i(o)] = (1.0 - weight) * first_[i(o)] + weight * second_[i(o)];
            if (shop_.choice && rng.unit() < middle) child.alternative[i(o)] = b.alternative[i(o)];
        }
        std::sort(child.order.begin(), child.order.end(), [this](int x, int y) {
            if (key_[i(x)] != key_[i(y)]) return key_[i(x)] < key_[i(y)];
            return first_[i(x)] < first_[i(y)];
        });
        return child;
    }

private:
    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    const ShopModel& shop_;
    std::vector<int> first_, second_;
    std::vector<double> key_;
};

}  // namespace sched::search
