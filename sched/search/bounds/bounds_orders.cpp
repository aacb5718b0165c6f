// How it works: a best-first search over sets of orders, taken off from the last to the first:
// the order that is last of a set ends no sooner than all work of the set is done by each cut.
// A cut is a set of resources with a head and a tail; only those that bind along the best order
// found so far are in use, and a few rounds of search add more.

#include "sched/search/bounds/bounds_orders.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <queue>
#include <unordered_map>

#include "sched/search/base/rng.hpp"
#include "sched/search/bounds/bounds_assign.hpp"

namespace sched::search {

namespace {

constexpr std::size_t kMostOrders = 256;
constexpr std::size_t kMostSets = 250'000;  // some 50 MB, and half a second
constexpr std::size_t kManyOrders = 64;     // of more than that fewer sets are worth their time
constexpr std::size_t kMostHeads = 12;      // per group
constexpr std::size_t kMostTails = 8;
constexpr int kRounds = 4;  // of looking for cuts along the best order found

using Set = std::array<std::uint64_t, kMostOrders / 64>;

bool holds(const Set& s, std::size_t k) {
    return (s[k / 64] >> (k % 64) & 1) != 0;
}
void flip(Set& s, std::size_t k) {
    s[k / 64] ^= std::uint64_t{1} << (k % 64);
}
struct SetHash {
    std::size_t operator()(const Set& s) const {
        std::uint64_t h = 0;
        for (const std::uint64_t w : s) {
            h = (h ^ w) * 0x9E3779B97F4A7C15ULL;
            h ^= h >> 29;
        }
        return static_cast<std::size_t>(h);
    }
};

// One group, one head, one tail: the work per order that counts, and the clock.
struct Cut {
    std::size_t clock = 0;
    std::int64_t head = 0;
    std::int64_t tail = 0;
    std::vector<std::int64_t> work;  // per position in `orders_`
};

class OrderBound {
public:
    OrderBound(const core::Problem& p, const OrderBoundData& d,
               const std::function<std::int64_t(std::size_t, std::int64_t)>& cost)
        : d_(d), cost_(cost) {
        for (std::size_t o = 0; o < p.orders.size(); ++o) {
            if (d.done[o] == std::numeric_limits<std::int64_t>::min()) continue;
            const std::int64_t alone = cost(o, d.done[o]);
            // An order that never costs more goes last: it is in nobody's way.
            if (cost(o, std::int64_t{1} << 40) == alone) {
                others_ += alone;
                continue;
            }
            orders_.push_back(o);
        }
        // Those due last are left out if there are too many: the rest is a problem of its own.
        std::stable_sort(orders_.begin(), orders_.end(), [&](std::size_t a, std::size_t b) {
            return p.orders[a].due.value_or(p.horizon_end) <
                   p.orders[b].due.value_or(p.horizon_end);
        });
        while (orders_.size() > kMostOrders) {
            others_ += cost(orders_.back(), d.done[orders_.back()]);
            orders_.pop_back();
        }
        for (const std::size_t o : orders_)
            alone_.push_back(cost(o, d.done[o]));
        place_.assign(p.orders.size(), -1);
        for (std::size_t k = 0; k < orders_.size(); ++k)
            place_[orders_[k]] = static_cast<int>(k);
        make_cuts(p);
    }

    std::int64_t run(std::int64_t nodes) {
        std::int64_t best = others_;
        for (const std::int64_t a : alone_)
            best += a;
        if (orders_.empty() || all_.empty()) return best;
        std::vector<std::size_t> order(orders_.size());
        for (std::size_t k = 0; k < order.size(); ++k)
            order[k] = k;
        separate(order);
        // Other samples of sets: shuffled orders, always the same.
        Rng rng(1, 0);
        for (int sample = 0; sample < 2; ++sample) {
            auto mixed = order;
            for (std::size_t k = mixed.size(); k > 1; --k)
                std::swap(mixed[k - 1],
                          mixed[static_cast<std::size_t>(rng.below(static_cast<int>(k)))]);
            separate(mixed);
        }
        for (int round = 0; round < kRounds; ++round) {
            best = std::max(best, search(nodes / kRounds, order));
            if (!separate(order)) break;
        }
        return best;
    }

private:
    static std::vector<std::int64_t> levels(std::vector<std::int64_t> values, std::size_t most) {
        std::sort(values.begin(), values.end());
        values.erase(std::unique(values.begin(), values.end()), values.end());
        if (values.size() <= most) return values;
        std::vector<std::int64_t> picked;
        for (std::size_t k = 0; k < most; ++k)
            picked.push_back(values[k * (values.size() - 1) / (most - 1)]);
        return picked;
    }

    void make_cuts(const core::Problem& p) {
        for (const ResourceGroup& g : d_.groups) {
            std::vector<std::int64_t> heads, tails;
            std::vector<std::size_t> ops;
            for (std::size_t k = 0; k < g.loads.size(); ++k) {
                const std::size_t i = g.loads[k].operation;
                if (d_.order_of[i] < 0 || place_[static_cast<std::size_t>(d_.order_of[i])] < 0)
                    continue;
                ops.push_back(k);
                heads.push_back(d_.early.start[i]);
                tails.push_back(d_.tail[i]);
            }
            if (ops.empty()) continue;
            clocks_.emplace_back(p, g.resources);
            for (const std::int64_t h : levels(heads, kMostHeads)) {
                for (const std::int64_t q : levels(tails, kMostTails)) {
                    Cut cut{clocks_.size() - 1, h, q, {}};
                    cut.work.assign(orders_.size(), 0);
                    std::int64_t sum = 0;
                    for (const std::size_t k : ops) {
                        const std::size_t i = g.loads[k].operation;
                        if (d_.early.start[i] < h || d_.tail[i] < q) continue;
                        const int at = place_[static_cast<std::size_t>(d_.order_of[i])];
                        cut.work[static_cast<std::size_t>(at)] += g.loads[k].work;
                        sum += g.loads[k].work;
                    }
                    if (sum > 0) all_.push_back(std::move(cut));
                }
            }
        }
        taken_.assign(all_.size(), 0);
    }

    std::int64_t at(const Cut& cut, std::int64_t work) const {
        return work > 0 ? clocks_[cut.clock].after(cut.head, work) + cut.tail
                        : std::numeric_limits<std::int64_t>::min();
    }

    std::int64_t completion(const Set& s) const {
        std::int64_t c = std::numeric_limits<std::int64_t>::min();
        for (const std::size_t k : used_) {
            const Cut& cut = all_[k];
            std::int64_t work = 0;
            for (std::size_t w = 0; w < s.size(); ++w) {
                for (std::uint64_t bits = s[w]; bits != 0; bits &= bits - 1)
                    work += cut.work[64 * w + static_cast<std::size_t>(__builtin_ctzll(bits))];
            }
            c = std::max(c, at(cut, work));
        }
        return c;
    }

    // The cuts that bind after the first 1, 2, ... of the order. @returns true if one is new and
    // says more than those in use.
    bool separate(const std::vector<std::size_t>& order) {
        std::vector<std::int64_t> work(all_.size(), 0);
        bool fresh = false;
        for (const std::size_t o : order) {
            std::int64_t best = std::numeric_limits<std::int64_t>::min(), known = best;
            std::size_t which = 0;
            for (std::size_t k = 0; k < all_.size(); ++k) {
                work[k] += all_[k].work[o];
                const std::int64_t c = at(all_[k], work[k]);
                if (taken_[k]) known = std::max(known, c);
                if (c <= best) continue;
                best = c;
                which = k;
            }
            if (best <= known) continue;
            taken_[which] = 1;
            used_.push_back(which);
            fresh = true;
        }
        return fresh;
    }

    std::int64_t price(std::size_t k, std::int64_t c) const {
        return cost_(orders_[k], std::max(c, d_.done[orders_[k]]));
    }

    struct Open {
        std::int64_t f, g;
        std::int64_t number;
        Set set;
        bool operator<(const Open& o) const {
            return f != o.f ? f > o.f : g != o.g ? g > o.g : number < o.number;
        }
    };

    // Best first. @param order the order of the best way found, first to last.
    std::int64_t search(std::int64_t nodes, std::vector<std::size_t>& order) {
        Set full{};
        std::int64_t rest = 0;
        for (std::size_t k = 0; k < orders_.size(); ++k) {
            flip(full, k);
            rest += alone_[k];
        }
        struct Reached {
            std::int64_t g;
            Set before;        // the larger set it came from
            std::size_t last;  // the order taken off that one at a price
        };
        std::unordered_map<Set, Reached, SetHash> reached;
        std::priority_queue<Open> open;
        open.push({rest, 0, 0, full});
        reached.emplace(full, Reached{0, full, orders_.size()});
        const std::size_t most_sets =
            kMostSets * kManyOrders / std::max(kManyOrders, orders_.size());
        std::int64_t number = 0;
        std::int64_t answer = rest;
        Set end{};
        for (;;) {
            const Open top = open.top();
            open.pop();
            answer = top.f;
            end = top.set;
            const Reached& r = reached.at(top.set);
            if (top.g > r.g) continue;
            Set s = top.set;
            const std::int64_t c = shrink(s, nullptr);
            if (s == Set{} || --nodes < 0 || reached.size() > most_sets) break;
            for (std::size_t k = 0; k < orders_.size(); ++k) {
                if (!holds(s, k)) continue;
                const std::int64_t more = price(k, c) - alone_[k];
                Set next = s;
                flip(next, k);
                const std::int64_t g = top.g + more;
                const auto [found, fresh] = reached.try_emplace(next, Reached{g, top.set, k});
                if (!fresh) {
                    if (found->second.g <= g) continue;
                    found->second = {g, top.set, k};
                }
                open.push({rest + g, g, ++number, next});
            }
        }
        // The way back, for the cuts.
        std::vector<std::size_t> back;  // first to last
        Set s = end;
        shrink(s, &back);
        for (std::size_t k = 0; k < orders_.size(); ++k) {
            if (holds(s, k)) back.insert(back.begin(), k);
        }
        while (end != full) {
            const Reached r = reached.at(end);
            back.push_back(r.last);
            Set larger = r.before;
            std::vector<std::size_t> free;
            shrink(larger, &free);
            back.insert(back.end(), free.begin(), free.end());
            end = r.before;
        }
        order = std::move(back);
        return others_ + answer;
    }

    // Takes off all that cost no more as the last than alone. @returns C of what is left.
    // @param off those taken off, first to last; may be null.
    std::int64_t shrink(Set& s, std::vector<std::size_t>* off) const {
        std::vector<std::size_t> taken;
        for (;;) {
            if (s == Set{}) break;
            const std::int64_t c = completion(s);
            bool any = false;
            for (std::size_t k = 0; k < orders_.size(); ++k) {
                if (!holds(s, k) || price(k, c) != alone_[k]) continue;
                flip(s, k);
                taken.push_back(k);
                any = true;
            }
            if (any) continue;
            if (off) off->assign(taken.rbegin(), taken.rend());
            return c;
        }
        if (off) off->assign(taken.rbegin(), taken.rend());
        return 0;
    }

    const OrderBoundData& d_;
    const std::function<std::int64_t(std::size_t, std::int64_t)>& cost_;
    std::int64_t others_ = 0;          // what orders cost that are not looked at
    std::vector<std::size_t> orders_;  // positions to order numbers
    std::vector<int> place_;           // order numbers to positions
    std::vector<std::int64_t> alone_;
    std::vector<CapacityClock> clocks_;
    std::vector<Cut> all_;
    std::vector<char> taken_;
    std::vector<std::size_t> used_;
};

}  // namespace

std::int64_t order_bound(const core::Problem& problem, const OrderBoundData& data,
                         const std::function<std::int64_t(std::size_t, std::int64_t)>& cost,
                         std::int64_t nodes) {
    return OrderBound(problem, data, cost).run(nodes);
}

}  // namespace sched::search
