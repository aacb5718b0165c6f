#pragma once
// The disjunctive graph of a shop as flat arrays: machine sequences, heads, tails and a topological
// order that one move changes only where it must.

#include <vector>

#include "sched/search/shop_model.hpp"

namespace sched::search {

/// A solution to hand round: any linear order that respects chains and machine sequences, and the
/// alternative (absolute index) of each operation.
struct ShopSequence {
    std::int64_t value = -1;  // makespan
    std::vector<int> order;
    std::vector<int> alternative;
};

/// Operation n (= ShopModel::operations) is a sentinel of length 0 that stands for "none".
class ShopState {
public:
    explicit ShopState(const ShopModel& shop);

    /// Takes over the machine sequences that `order` induces. @pre order respects the chains.
    void load(const std::vector<int>& order, const std::vector<int>& alternative);
    ShopSequence save() const;

    /// Puts operation u right after x on the machine of alternative a (x = n: as the first).
    /// @pre the graph stays acyclic (see `free_after`).
    void insert(int u, int x, int a);

    /// Without tails moves cost half; then only `may_swap` may judge moves.
    void keep_tails(bool keep) { tails_ = keep; }

    int size() const { return n_; }
    int makespan() const { return makespan_; }
    int time(int o) const { return p_[i(o)]; }
    int head(int o) const { return end_[i(o)] - p_[i(o)]; }
    int end(int o) const { return end_[i(o)]; }    // head + time
    int tail(int o) const { return tail_[i(o)]; }  // own time included
    int before(int o) const { return jp_[i(o)]; }
    int after(int o) const { return js_[i(o)]; }
    int machine_before(int o) const { return mp_[i(o)]; }
    int machine_after(int o) const { return ms_[i(o)]; }
    int machine(int o) const { return machine_[i(o)]; }
    int alternative(int o) const { return alternative_[i(o)]; }
    int base(int o) const { return base_[i(o)]; }
    int first(int machine) const { return first_[i(machine)]; }
    const std::vector<int>& order() const { return order_; }

    /// No path from the chain successor of u to x: u may stand after x.
    /// A path would make tail(after) >= time(after) + tail(x).
    bool free_after(int u, int x) const {
        const int s = js_[i(u)];
        return s == n_ || (s != x && tail_[i(x)] + p_[i(s)] > tail_[i(s)]);
    }
    /// No path from y to the chain predecessor of u: u may stand before y.
    bool free_before(int u, int y) const {
        const int b = jp_[i(u)];
        return b == n_ || (b != y && end_[i(y)] + p_[i(b)] > end_[i(b)]);
    }

    /// Neighbours u, v of one machine with end(u) = head(v) may change places unless they are of
    /// one chain: any other path from u to v takes time (operations without length share no
    /// machine).
    bool may_swap(int u, int v) const { return shop_.chain_of[i(u)] != shop_.chain_of[i(v)]; }

private:
    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    void heads_from(int position);
    void tails_from(int position);

    const ShopModel& shop_;
    int n_;
    std::vector<int> jp_, js_, mp_, ms_, p_, base_, machine_, alternative_;
    std::vector<int> end_, tail_;
    std::vector<int> order_, position_;
    std::vector<int> first_, last_;
    std::vector<int> scratch_;
    std::vector<char> marked_;
    int makespan_ = 0;
    bool tails_ = true;
};

}  // namespace sched::search
