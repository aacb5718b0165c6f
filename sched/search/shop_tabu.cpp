#include "sched/search/shop_tabu.hpp"

#include <algorithm>

namespace sched::search {

ShopTabu::ShopTabu(const ShopModel& shop, std::int64_t bound)
    : shop_(shop), bound_(bound), n_(shop.operations), state_(shop) {
    // Exact up to 2,048 operations; beyond that two pairs may share a cell, which only forbids a
    // little more.
    std::size_t cells = 1024;
    while (cells < i(n_) * i(n_) && cells < (std::size_t{1} << 22))
        cells *= 2;
    arcs_.assign(cells, 0);
    mask_ = cells - 1;
    places_.assign(shop.alternatives.size(), 0);
    tenure_ = 10 + shop.chains() / std::max(1, shop.machines);
    path_.reserve(i(n_) + 1);
    ends_.reserve(i(n_) + 1);
}

void ShopTabu::critical_path(Rng& rng) {
    path_.clear();
    int pick = n_;
    int ties = 0;
    for (const int o : shop_.lasts) {
        if (state_.end(o) == state_.makespan() && rng.below(++ties) == 0) pick = o;
    }
    for (int o = pick; o != n_;) {
        path_.push_back(o);
        const int head = state_.head(o);
        const int b = state_.before(o);
        const int m = state_.machine_before(o);
        const bool via_chain = b != n_ && state_.end(b) == head;
        const bool via_machine = m != n_ && state_.end(m) == head;
        if (head == 0 && (!via_chain || state_.time(b) > 0) && (!via_machine || state_.time(m) > 0))
            break;
        if (via_chain && via_machine) {
            o = (rng.next() >> 63) ? b : m;
        } else if (via_chain) {
            o = b;
        } else if (via_machine) {
            o = m;
        } else {
            break;  // a release date holds it
        }
    }
    std::reverse(path_.begin(), path_.end());
}

void ShopTabu::offer(const Move& move, bool tabu, Rng& rng) {
    if (tabu && move.estimate >= best_) {
        if (denied_ties_ == 0 || move.estimate < denied_.estimate) {
            denied_ = move;
            denied_ties_ = 1;
        } else if (move.estimate == denied_.estimate && rng.below(++denied_ties_) == 0) {
            denied_ = move;
        }
        return;
    }
    if (chosen_ties_ == 0 || move.estimate < chosen_.estimate) {
        chosen_ = move;
        chosen_ties_ = 1;
    } else if (move.estimate == chosen_.estimate && rng.below(++chosen_ties_) == 0) {
        chosen_ = move;
    }
}

/// path_[a] right after path_[b], a < b, both of one block. Estimate after Balas & Vazacopoulos.
void ShopTabu::consider_forward(int a, int b) {
    const int u = path_[i(a)];
    const int v = path_[i(b)];
    if (!state_.free_after(u, v)) return;
    bool tabu = false;
    int end = state_.end(state_.machine_before(u));
    for (int k = a + 1; k <= b; ++k) {
        const int o = path_[i(k)];
        end =
            std::max(std::max(state_.base(o), state_.end(state_.before(o))), end) + state_.time(o);
        ends_[i(k)] = end;
        tabu = tabu || forbidden(o, u) > now_;
    }
    const int end_u =
        std::max(std::max(state_.base(u), state_.end(state_.before(u))), end) + state_.time(u);
    int tail = std::max(state_.tail(state_.after(u)), state_.tail(state_.machine_after(v))) +
               state_.time(u);
    int estimate = end_u + tail - state_.time(u);
    for (int k = b; k > a; --k) {
        const int o = path_[i(k)];
        tail = std::max(state_.tail(state_.after(o)), tail) + state_.time(o);
        estimate = std::max(estimate, ends_[i(k)] + tail - state_.time(o));
    }
    offer({u, v, state_.alternative(u), estimate, true}, tabu, *rng_);
}

/// path_[b] right before path_[a], a < b, both of one block.
void ShopTabu::consider_backward(int a, int b) {
    const int u = path_[i(a)];
    const int v = path_[i(b)];
    if (!state_.free_before(v, u)) return;
    bool tabu = false;
    int tail = state_.tail(state_.machine_after(v));
    for (int k = b - 1; k >= a; --k) {
        const int o = path_[i(k)];
        tail = std::max(state_.tail(state_.after(o)), tail) + state_.time(o);
        ends_[i(k)] = tail;
        tabu = tabu || forbidden(v, o) > now_;
    }
    const int tail_v = std::max(state_.tail(state_.after(v)), tail) + state_.time(v);
    int end = std::max(std::max(state_.base(v), state_.end(state_.before(v))),
                       state_.end(state_.machine_before(u))) +
              state_.time(v);
    int estimate = end + tail_v - state_.time(v);
    for (int k = a; k < b; ++k) {
        const int o = path_[i(k)];
        end =
            std::max(std::max(state_.base(o), state_.end(state_.before(o))), end) + state_.time(o);
        estimate = std::max(estimate, end + ends_[i(k)] - state_.time(o));
    }
    offer({v, state_.machine_before(u), state_.alternative(v), estimate, false}, tabu, *rng_);
}

void ShopTabu::block_moves(int from, int to, bool first_block, bool last_block) {
    // Moves within the first block only pay at its end, within the last block only at its start.
    const bool at_start = !first_block;
    const bool at_end = !last_block;
    if (to - from == 1) {
        if (at_start || at_end) consider_forward(from, to);
        return;
    }
    if (at_end) {
        for (int k = from; k < to; ++k)
            consider_forward(k, to);  // to the end
        for (int k = from + 1; k < to; ++k)
            consider_backward(k, to);  // last one inwards
    }
    if (at_start) {
        for (int k = from + 1; k <= to; ++k)
            consider_backward(from, k);  // to the start
        for (int k = from + 1; k < to; ++k)
            consider_forward(from, k);  // first one inwards
    }
}

/// u into the machine sequences of its other alternatives, wherever no cycle can arise.
void ShopTabu::other_machines(int u) {
    const int b = state_.before(u);
    const int s = state_.after(u);
    const int ready = std::max(state_.base(u), state_.end(b));
    const int rest = state_.tail(s);
    for (int a = shop_.first_alternative[i(u)]; a < shop_.first_alternative[i(u) + 1]; ++a) {
        const ShopAlternative& way = shop_.alternatives[i(a)];
        if (way.machine == state_.machine(u)) continue;
        const bool tabu = places_[i(a)] > now_;
        int x = n_;
        int y = state_.first(way.machine);
        // Skip places before operations that must precede u.
        while (y != n_ && !state_.free_before(u, y)) {
            x = y;
            y = state_.machine_after(y);
        }
        for (;;) {
            if (x != n_ && !state_.free_after(u, x)) break;
            const int estimate =
                std::max(ready, state_.end(x)) + way.time + std::max(rest, state_.tail(y));
            offer({u, x, a, estimate, false}, tabu, *rng_);
            if (y == n_) break;
            x = y;
            y = state_.machine_after(y);
        }
    }
}

void ShopTabu::perform(const Move& move, Rng& rng) {
    const int u = move.u;
    const std::int64_t until = now_ + tenure_ + rng.below(tenure_);
    if (move.alternative != state_.alternative(u)) {
        places_[i(state_.alternative(u))] = until;
    } else if (move.forward) {
        for (int o = state_.machine_after(u);; o = state_.machine_after(o)) {
            forbidden(u, o) = until;
            if (o == move.x) break;
        }
    } else {
        for (int o = state_.machine_before(u); o != move.x; o = state_.machine_before(o))
            forbidden(o, u) = until;
    }
    state_.insert(u, move.x, move.alternative);
}

ShopSequence ShopTabu::improve(const ShopSequence& s, std::int64_t patience, Rng& rng,
                               Watch& watch) {
    rng_ = &rng;
    ends_.resize(i(n_) + 1);
    state_.load(s.order, s.alternative);
    ShopSequence best = state_.save();
    best_ = best.value;
    now_ += 4 * tenure_ + 2;  // what an earlier call forbade is over
    std::int64_t since = 0;
    while (since < patience && best_ > bound_ && !watch.count()) {
        ++now_;
        critical_path(rng);
        chosen_ties_ = denied_ties_ = 0;
        const int length = static_cast<int>(path_.size());
        for (int from = 0; from < length;) {
            int to = from;
            while (to + 1 < length && state_.machine_after(path_[i(to)]) == path_[i(to + 1)])
                ++to;
            if (to > from) block_moves(from, to, from == 0, to + 1 == length);
            from = to + 1;
        }
        if (shop_.choice) {
            for (const int u : path_)
                other_machines(u);
        }
        if (chosen_ties_ == 0 && denied_ties_ == 0) break;  // one block: optimal for these machines
        // Everything is tabu: the least bad of it, as an aspiration of last resort.
        perform(chosen_ties_ > 0 ? chosen_ : denied_, rng);
        ++since;
        if (state_.makespan() < best_) {
            best = state_.save();
            best_ = best.value;
            since = 0;
        }
    }
    return best;
}

}  // namespace sched::search
