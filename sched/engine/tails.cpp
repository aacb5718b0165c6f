// How long an order lasts at least from the start of one of its operations: the longest path
// through its own operations, everything alone in the room. What a run still has to come is never
// less.

#include <algorithm>
#include <cmath>

#include "sched/core/index.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

namespace {

// No stage of drying is ever quicker than alone in the driest hour.
Tick least_length(const CompiledProblem& p, const CompiledMode& m) {
    Tick least = m.work;
    if (m.stages.size() == 0) return least;
    const Range any = p.needs[static_cast<std::size_t>(m.needs.begin)].any_of;
    double best = -1.0;
    for (std::int32_t c = any.begin; c < any.end; ++c) {
        const auto r = static_cast<std::size_t>(p.candidates[static_cast<std::size_t>(c)]);
        double sum = 0.0;
        for (const auto& stage : p.stages_of(m)) {
            double speed = 0.0;
            for (const auto& step : p.steps_of(p.resources[r])) {
                double v = step.base;
                if (step.crowd >= 0.0) v = std::max(v, step.crowd / step.crowd_shift);
                if (step.cap >= 0.0 && stage.share > 0.0) v = std::min(v, step.cap / stage.share);
                speed = std::max(speed, v);
            }
            if (stage.work > 0.0 && speed > 0.0) sum += stage.work / speed;
        }
        if (best < 0.0 || sum < best) best = sum;
    }
    return std::max(least, static_cast<Tick>(std::floor(best)));
}

}  // namespace

void CompiledProblem::make_tails() {
    std::vector<Tick> least(operations.size(), 0);
    for (std::size_t i = 0; i < operations.size(); ++i) {
        const Range ms = operations[i].modes;
        least[i] = never;
        for (std::int32_t m = ms.begin; m < ms.end; ++m)
            least[i] = std::min(least[i], least_length(*this, modes[ix(m)]));
    }
    tail = least;
    // Against the precedence order; once more for blocks that are not numbered along it. Fewer
    // rounds than needed give a smaller bound, never a wrong one.
    for (int round = 0; round < 2; ++round) {
        for (std::size_t k = block_operations.size(); k-- > 0;) {
            const std::int32_t op = block_operations[k];
            const CompiledOperation& o = operations[ix(op)];
            if (o.order < 0) continue;
            for (std::int32_t l = o.lags_out.begin; l < o.lags_out.end; ++l) {
                const CompiledLag& lag = lags[ix(lags_out[ix(l)])];
                if (operations[ix(lag.to)].order != o.order || lag.to == op) continue;
                const Tick after = lag.edge == core::Edge::Start ? 0 : least[ix(op)];
                tail[ix(op)] = std::max(tail[ix(op)], after + lag.min + tail[ix(lag.to)]);
            }
        }
    }
    std::vector<std::vector<OrderStep>> of_order(order_due.size());
    for (std::size_t b = 0; b < blocks.size(); ++b) {
        for (const std::int32_t op : ops_of(blocks[b])) {
            const std::int32_t order = operations[ix(op)].order;
            if (order < 0) continue;
            auto& list = of_order[ix(order)];
            if (list.empty() || list.back().block != static_cast<std::int32_t>(b))
                list.push_back({static_cast<std::int32_t>(b), 0});
            list.back().tail = std::max(list.back().tail, tail[ix(op)]);
        }
    }
    for (auto& list : of_order) {
        std::stable_sort(list.begin(), list.end(),
                         [](const OrderStep& a, const OrderStep& b) { return a.tail > b.tail; });
        const auto begin = static_cast<std::int32_t>(order_steps.size());
        order_steps.insert(order_steps.end(), list.begin(), list.end());
        order_range.push_back({begin, static_cast<std::int32_t>(order_steps.size())});
    }
}

}  // namespace sched::engine
