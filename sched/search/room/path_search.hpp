#pragma once
// Moves on the critical paths of the operation graph, where the graph tells the decoder's times: a
// change is weighed by heads and tails before it is made, and none is decoded but those that are
// kept.

#include <cstdint>
#include <vector>

#include "sched/search/base/rng.hpp"
#include "sched/search/base/watch.hpp"
#include "sched/search/room/operation_graph.hpp"

namespace sched::search {

/// Elites and relinking (Peng, Lü and Cheng 2015). A makespan is improved by tabu search over
/// critical blocks (Balas and Vazacopoulos 1998; the neighbourhood "N7" of Zhang et al. 2007) and
/// over other places for critical operations (after Mastrolilli and Gambardella 2000); what orders
/// are late by, by annealing over the paths that make them late (van Laarhoven, Aarts and Lenstra
/// 1992). One move is one evaluation. Not thread-safe.
class PathSearch {
public:
    PathSearch(const GraphModel& model, const std::vector<std::int64_t>& bound, Rng rng,
               Watch& watch);

    /// One descent: a new elite, or a child of two. @returns true if the best got better.
    bool step();
    /// Something better found elsewhere joins the elites. @returns false if it does not fit.
    bool join(const engine::CompiledProblem& problem, const engine::FlatSchedule& schedule);

    const GraphOrder& best() const { return best_; }
    bool done() const { return best_.value == bound_; }

    /// `best` as the decoder takes it: ranks, choices, and the starts that it has here.
    engine::Sequence sequence(const engine::CompiledProblem& problem, const GraphOrder& order);

private:
    struct Move {
        int u = 0, choice = 0, need = 0;
        int beside = 0;    // a use; of another place: right after it
        int estimate = 0;  // of the makespan
        int way = 0;       // 1: to right behind `beside`, -1: to right before it, 0: another place
    };
    struct Link {
        int op = 0;
        int use = -1;  // the next one on the path follows on the place of this use; -1: by a lag
        int next = -1;
    };

    bool over() { return done() || watch_.spent(); }
    GraphOrder random_order();
    GraphOrder between(const GraphOrder& a, const GraphOrder& b);
    void keep(GraphOrder s);
    bool better(const std::vector<std::int64_t>& a, const std::vector<std::int64_t>& b) const {
        return b.empty() || a < b;
    }

    GraphOrder improve(const GraphOrder& from, bool fresh);
    GraphOrder tabu(const GraphOrder& from);
    void critical_path();
    void block(int from, int to, bool first, bool last);
    void forward(int a, int b);
    void backward(int a, int b);
    void other_choices(int u);
    void offer(const Move& move, bool tabu);
    std::int64_t& forbidden(int u, int before) {
        return arcs_[(ix(u) * ix(n_) + ix(before)) & mask_];
    }
    bool perform(const Move& move);
    void after_of(const Move& move, std::vector<int>& after) const;
    int estimate_end(int o, int use, int end) const;
    int estimate_tail(int o, int use, int tail) const;

    GraphOrder anneal(const GraphOrder& from, double hot);
    bool draw(Move& move);
    bool draw_elsewhere(int u, Move& move);
    void list_late();
    double cost(const std::vector<std::int64_t>& value) const;
    std::int64_t annealing_length() const;

    const GraphModel& m_;
    const std::vector<std::int64_t>& bound_;
    int n_;
    bool makespan_first_;
    Rng rng_;
    Watch& watch_;
    OperationGraph graph_;
    GraphOrder best_;
    std::vector<GraphOrder> elites_;
    bool bred_ = false;  // the elites are complete
    int idle_ = 0;       // children on end that were no better

    // Tabu.
    std::vector<Link> path_;
    std::vector<int> ends_;
    std::vector<std::int64_t> arcs_;    // iteration until which "u before x" must not come back
    std::vector<std::int64_t> places_;  // the same per choice
    std::size_t mask_ = 0;
    std::int64_t now_ = 0;
    int tenure_ = 10;
    int target_ = 0;  // best makespan of this descent
    Move chosen_, denied_;
    int chosen_ties_ = 0, denied_ties_ = 0;

    // Annealing.
    std::vector<int> completion_, ender_;
    std::vector<std::int64_t> value_;
    std::vector<double> scale_;  // per criterion
    std::vector<int> late_;      // operations that end a late order
    bool whole_ = false;         // the objective looks at orders that are in time, too
    std::vector<int> after_, back_;
    std::vector<double> key_;
    std::vector<int> first_, second_;
};

}  // namespace sched::search
