#include "sched/search/shop_state.hpp"

#include <algorithm>

namespace sched::search {

ShopState::ShopState(const ShopModel& shop)
    : shop_(shop), n_(shop.operations), jp_(shop.before), js_(shop.after), base_(shop.base) {
    const std::size_t n = i(n_);
    jp_.push_back(n_);
    js_.push_back(n_);
    base_.push_back(0);
    mp_.assign(n + 1, n_);
    ms_.assign(n + 1, n_);
    p_.assign(n + 1, 0);
    machine_.assign(n + 1, -1);
    alternative_.assign(n + 1, -1);
    end_.assign(n + 1, 0);
    tail_.assign(n + 1, 0);
    position_.assign(n + 1, -1);
    scratch_.resize(n + 1);
    marked_.assign(n + 1, 0);
    first_.assign(i(shop.machines), n_);
    last_.assign(i(shop.machines), n_);
}

void ShopState::load(const std::vector<int>& order, const std::vector<int>& alternative) {
    order_ = order;
    std::fill(first_.begin(), first_.end(), n_);
    std::fill(last_.begin(), last_.end(), n_);
    for (int k = 0; k < n_; ++k) {
        const int o = order_[i(k)];
        position_[i(o)] = k;
        alternative_[i(o)] = alternative[i(o)];
        const ShopAlternative& a = shop_.alternatives[i(alternative[i(o)])];
        p_[i(o)] = a.time;
        machine_[i(o)] = a.machine;
        const int previous = last_[i(a.machine)];
        mp_[i(o)] = previous;
        ms_[i(o)] = n_;
        if (previous == n_) {
            first_[i(a.machine)] = o;
        } else {
            ms_[i(previous)] = o;
        }
        last_[i(a.machine)] = o;
    }
    heads_from(0);
    if (tails_) tails_from(n_ - 1);
}

ShopSequence ShopState::save() const {
    ShopSequence s{.value = makespan_, .order = order_, .alternative = alternative_};
    s.alternative.pop_back();
    return s;
}

void ShopState::heads_from(int position) {
    const int* jp = jp_.data();
    const int* mp = mp_.data();
    int* end = end_.data();
    for (int k = position; k < n_; ++k) {
        const int o = order_[i(k)];
        const int a = end[jp[o]];
        const int b = end[mp[o]];
        end[o] = std::max(base_[i(o)], std::max(a, b)) + p_[i(o)];
    }
    int longest = 0;
    for (const int o : shop_.lasts)
        longest = std::max(longest, end[o]);
    makespan_ = longest;
}

void ShopState::tails_from(int position) {
    const int* js = js_.data();
    const int* ms = ms_.data();
    int* tail = tail_.data();
    for (int k = position; k >= 0; --k) {
        const int o = order_[i(k)];
        tail[o] = std::max(tail[js[o]], tail[ms[o]]) + p_[i(o)];
    }
}

void ShopState::insert(int u, int x, int a) {
    // Take u out of its machine sequence.
    const int om = machine_[i(u)];
    const int op = mp_[i(u)];
    const int os = ms_[i(u)];
    (op == n_ ? first_[i(om)] : ms_[i(op)]) = os;
    (os == n_ ? last_[i(om)] : mp_[i(os)]) = op;
    // Put it after x.
    const ShopAlternative& way = shop_.alternatives[i(a)];
    const int y = x == n_ ? first_[i(way.machine)] : ms_[i(x)];
    mp_[i(u)] = x;
    ms_[i(u)] = y;
    (x == n_ ? first_[i(way.machine)] : ms_[i(x)]) = u;
    (y == n_ ? last_[i(way.machine)] : mp_[i(y)]) = u;
    machine_[i(u)] = way.machine;
    alternative_[i(u)] = a;
    p_[i(u)] = way.time;
    mp_[i(n_)] = ms_[i(n_)] = n_;

    const int at = position_[i(u)];
    int low = at;
    int high = at;
    if (x != n_ && position_[i(x)] > at) {
        // u and what follows from it inside the window move behind x.
        high = position_[i(x)];
        int write = low;
        int later = 0;
        marked_[i(u)] = 1;
        scratch_[i(later++)] = u;
        for (int k = low + 1; k <= high; ++k) {
            const int o = order_[i(k)];
            if (marked_[i(jp_[i(o)])] || marked_[i(mp_[i(o)])]) {
                marked_[i(o)] = 1;
                scratch_[i(later++)] = o;
            } else {
                order_[i(write)] = o;
                position_[i(o)] = write++;
            }
        }
        for (int k = 0; k < later; ++k) {
            const int o = scratch_[i(k)];
            marked_[i(o)] = 0;
            order_[i(write)] = o;
            position_[i(o)] = write++;
        }
    } else if (y != n_ && position_[i(y)] < at) {
        // u and what it follows from inside the window move before y.
        low = position_[i(y)];
        int write = high;
        int later = 0;
        marked_[i(u)] = 1;
        scratch_[i(later++)] = u;
        for (int k = high - 1; k >= low; --k) {
            const int o = order_[i(k)];
            if (marked_[i(js_[i(o)])] || marked_[i(ms_[i(o)])]) {
                marked_[i(o)] = 1;
                scratch_[i(later++)] = o;
            } else {
                order_[i(write)] = o;
                position_[i(o)] = write--;
            }
        }
        for (int k = 0; k < later; ++k) {
            const int o = scratch_[i(k)];
            marked_[i(o)] = 0;
            order_[i(write)] = o;
            position_[i(o)] = write--;
        }
    }
    heads_from(low);
    if (tails_) tails_from(high);
}

}  // namespace sched::search
