#pragma once
// Tabu search on the disjunctive graph of a shop, makespan: critical-block moves (Balas &
// Vazacopoulos 1998; the neighbourhood "N7" of Zhang et al. 2007) and, with a choice of machines,
// the insertion of critical operations elsewhere (after Mastrolilli & Gambardella 2000).

#include <cstdint>
#include <vector>

#include "sched/search/rng.hpp"
#include "sched/search/shop_state.hpp"
#include "sched/search/watch.hpp"

namespace sched::search {

class ShopTabu {
public:
    ShopTabu(const ShopModel& shop, std::int64_t bound);

    /// Improves `s` until `patience` moves in a row bring nothing better, the watch ends it or the
    /// bound is met. One move is one evaluation. @returns the best found (at most s.value).
    ShopSequence improve(const ShopSequence& s, std::int64_t patience, Rng& rng, Watch& watch);

private:
    struct Move {
        int u;
        int x;            // u goes right after x
        int alternative;  // of u
        int estimate;
        bool forward;  // within its sequence, to a later place
    };

    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    void critical_path(Rng& rng);
    void block_moves(int from, int to, bool first_block, bool last_block);
    void consider_forward(int a, int b);
    void consider_backward(int a, int b);
    void other_machines(int u);
    void offer(const Move& move, bool tabu, Rng& rng);
    std::int64_t& forbidden(int u, int before) { return arcs_[(i(u) * i(n_) + i(before)) & mask_]; }
    void perform(const Move& move, Rng& rng);

    const ShopModel& shop_;
    std::int64_t bound_;
    int n_;
    ShopState state_;
    std::vector<int> path_;
    std::vector<int> ends_;
    std::vector<std::int64_t> arcs_;    // iteration until which "u before x" must not come back
    std::vector<std::int64_t> places_;  // the same for "u on this alternative"
    std::size_t mask_ = 0;
    std::int64_t now_ = 0;  // moves since construction
    int tenure_ = 10;
    Rng* rng_ = nullptr;
    std::int64_t best_ = 0;
    // Best free and best tabu move of the present neighbourhood, ties drawn evenly.
    Move chosen_{}, denied_{};
    int chosen_ties_ = 0;
    int denied_ties_ = 0;
};

}  // namespace sched::search
